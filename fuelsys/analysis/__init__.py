"""One question a file: what a cavity with its fittings holds, keeps, warns of and shows at an attitude."""
