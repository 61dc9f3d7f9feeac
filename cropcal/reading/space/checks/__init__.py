"""Whether the tables of a space file are consistent: one function a check, listed in ``all``."""
