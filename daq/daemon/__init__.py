"""The daemon: it owns one rig for weeks, and serves it over HTTP."""
