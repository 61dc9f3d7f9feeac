"""The commands: thin, and the only place that prints or ends the program.

Read first: ``main`` (their words), then ``commands`` (what each does). ``entry`` ends a command at Ctrl-C;
``search`` keeps the best plan found so far.
"""
