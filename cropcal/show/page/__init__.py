"""report.html: one page that fetches nothing.

In: ``Facts``. Out: HTML. Read first: ``report``; a module a section, ``templates/`` beside them.
"""
