"""How a crop does in a bed.

In: a crop and the light and air of a bed. Out: verdict with reason and cure, days to harvest, mass. Read
first: ``crop_growth`` (days and mass, with their ranges), then ``suitability`` (the verdict).
"""
