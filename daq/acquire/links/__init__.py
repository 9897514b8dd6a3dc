"""What goes over the links of a rig: read, stamped, kept, decoded, watched and waited for."""
