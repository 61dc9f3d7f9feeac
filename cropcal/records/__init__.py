"""Frozen records of crops, spaces and plans. No files, no maths."""
