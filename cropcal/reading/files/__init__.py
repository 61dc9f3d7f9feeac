"""How files are opened, locked and written: a plain file, a lock, a set of files all or none.

Read first: ``file_set``.
"""
