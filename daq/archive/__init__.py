"""A workshop's whole history: every scan under any folders, indexed, searched, told over years."""
