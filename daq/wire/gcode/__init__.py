"""Carriages driven by boards that take RS-274 words and answer where they are.

The words used are those of T. R. Kramer, F. M. Proctor and E. R. Messina, "The NIST RS274/NGC
Interpreter - Version 3", NISTIR 6556, 2000: G1 a straight move at feed rate, G4 a dwell, G21
millimetres, G90 absolute distances, F in millimetres a minute along the path, X and Y. What such
boards answer, how they are asked where they are, homed and halted is in no standard: the rig file
says it.
"""
