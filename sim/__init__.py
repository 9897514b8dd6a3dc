"""A rig made of software: it speaks bytes, and the shell cannot tell it from a real one."""
