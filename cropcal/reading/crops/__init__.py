"""The crop tables, shipped ones and those beside a space.

In: CSV. Out: ``CropTables`` or problems. Read first: ``read``.
"""
