"""PNG and PDF.

In: records. Out: shapes on a sheet (a module a subject); ``render`` alone turns them into bytes with
matplotlib.
"""
