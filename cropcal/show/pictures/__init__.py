"""Pictures as PNG and the wall sheet as PDF.

In: records. Out: shapes on a sheet (a module a subject); ``render`` alone turns them into bytes with
matplotlib.
"""
