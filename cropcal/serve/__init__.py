"""A space served as pages to a browser in the home: ticking, weighing, undoing, planning again.

In: a folder. Out: HTML over HTTP, notes in the journal, a plan that is kept on request. Read first:
``security``, which every request passes, then ``app``, the routes.
"""
