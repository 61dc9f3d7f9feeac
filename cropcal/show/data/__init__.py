"""Files for other programs: JSON, CSV, iCalendar, the space.toml of ``cropcal new``.

In: records. Out: text. Read first: ``tables``, which names the columns that ``csv_sheets`` and ``frames``
write, and ``json_forms``.
"""
