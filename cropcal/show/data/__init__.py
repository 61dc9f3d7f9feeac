"""Files for other programs: JSON, CSV, iCalendar, the space.toml of ``cropcal new``.

In: records. Out: text. Read first: ``json_forms``, ``csv_sheets``; ``write_files`` puts a set of files into
a folder.
"""
