"""Modbus RTU sensors: they only answer, so the host asks for every reading."""
