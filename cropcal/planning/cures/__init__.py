"""Cures that work: what would let a crop do well in a bed, the smallest step first, each computed.

In: a space with lamp hours, its light, its verdicts. Out: ``records.cure.Cures``, each with the ``--set``
that does it. Read first: ``search`` (which steps are tried and kept), then ``light_steps`` and ``air_steps``
(the steps), ``trial`` (verdicts of a changed space), ``worth`` (power, days sooner, lamps too weak).
"""
