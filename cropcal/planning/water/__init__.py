"""Water of each zone: from batches and sites of a plan to litres, tanks, floods and stops.

In: a space, its light, batches and sites. Out: ``records.water``. Read ``use`` first.
"""
