"""A plan made visible; nothing is computed here.

In: records. Out: text, files, pictures, the page. Read first: ``text`` and ``wording``, which all of them
share.
"""
