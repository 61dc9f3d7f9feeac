"""Tariff, lamp hours, the power bill with its range, and bills that were noted.

In: a space and its tariff. Out: kWh and money by month, by use, by lit floor. Read first: ``bill``.
"""
