"""What the truss rod does to this neck: a shape times turns."""
