"""What a command prints first, in the lines of a usual terminal; read ``fitting`` first.

In: records. Out: blocks of lines that are fitted into the screen, or text.
"""
