"""SCPI-1999 over IEEE 488.2: what a board says and understands on its serial port."""
