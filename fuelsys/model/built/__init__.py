"""What that makes in space: cavities, fittings in their places, the network of lines."""
