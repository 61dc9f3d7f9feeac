"""Pictures as PNG and the wall sheet as PDF.

In: records. Out: shapes on a sheet (one module per subject); ``render`` alone turns them into bytes with
matplotlib, ``fonts`` measures text.
"""
