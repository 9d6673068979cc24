"""The page that a tank is drilled by, and its DXF."""
