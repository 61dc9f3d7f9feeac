"""report.html: one page that fetches nothing.

In: ``PageFacts``. Out: HTML. Read first: ``report``; a module a section, ``templates/`` beside them.
"""
