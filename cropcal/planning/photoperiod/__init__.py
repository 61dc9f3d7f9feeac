"""Which hours the lamp should be on, and why.

In: a space with its wants and tariff. Out: the hours picked, what others would bring, cures. Read first:
``advice``.
"""
