"""Tariff, lamp hours and the power bill.

In: a space and its tariff. Out: kWh and money by month, by use, by lit floor. Read first: ``bill``.
"""
