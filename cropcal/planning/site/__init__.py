"""What a space offers a plant: light at each site and its spread, air, sun.

In: zones, beds, lamps, readings. Out: ``BedLight`` and the air of each zone. Read first: ``bed_light``, where
a reading takes the place of what a lamp would give; ``measured_overrides`` does so for air.csv and meter.csv,
``noted_readings`` for the journal.
"""
