"""The integer programme of a season, on plain arrays: it knows no crop, no lamp and no file.

In: a ``Task`` (candidate columns, capacities, demand). Out: how many sites follow each column, with a
bound. Read first: ``programme`` (data and rows), then ``solve`` (the order of the search).
"""
