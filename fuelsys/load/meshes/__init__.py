"""From a mesh file to a cavity: looked at, mended, or refused."""
