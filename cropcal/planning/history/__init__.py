"""The journal read back.

In: noted events and the batches that were planned. Out: the history of each batch, how fast crops grow
here, likely causes of what went wrong. Read first: ``batch_history``, then ``calibration``.
"""
