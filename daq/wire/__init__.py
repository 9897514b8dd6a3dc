"""What goes over the links, without I/O: bytes in, records out, bytes to send.

A folder for each protocol; what all of them have in common stands beside the folders.
"""
