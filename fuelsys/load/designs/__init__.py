"""From a design file to a layout, or every fault of it; and design files to begin with."""
