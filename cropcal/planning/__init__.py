"""From records to a plan.

In: a space, the crop tables, what was noted. Out: a ``Plan``. Read first: ``planner``; the packages follow
in the order in which it calls them: power, site, growth, photoperiod, candidates, schedule, risk, replan.
"""
