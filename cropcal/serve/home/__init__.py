"""The home network: what ``cropcal open --home`` adds to the pages.

In: this computer's address, the keys of last time. Out: a code that lets a phone in, a link that only reads,
a calendar to subscribe to. Read first: ``links``. What a request has to pass is in ``serve.security``.
"""
