"""The doors: a mesh file becomes a cavity, a design file becomes a design, or one line says why not."""
