"""Everything that users see: screens, the page, pictures and files. Nothing is computed here.

In: records. Out: text, files, pictures, the page. Read first: ``text`` and ``wording``, which all of them
share.
"""
