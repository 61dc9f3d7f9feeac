"""The jobs of one week, from a plan and what was noted: for ``cropcal week`` and for the served page."""

from collections.abc import Sequence
from datetime import date, timedelta

from cropcal.records.crop import CropTables
from cropcal.records.journal import Entry
from cropcal.records.plan import SeasonPlan
from cropcal.records.space import Space
from cropcal.records.week import Week, last_sowing
from cropcal.records.written_plan import Past, WrittenPlan
from cropcal.show.wording import period_of


def week_of_plan(
    space: Space,
    tables: CropTables,
    plan: WrittenPlan | SeasonPlan,
    events: Sequence[Entry],
    on: date,
) -> Week:
    """Return the Monday-to-Sunday week that holds a day.

    Parameters
    ----------
    space, tables
        The space with its lamp hours, and its crop tables.
    plan
        The plan.
    events
        What was noted; events after ``on`` are left out.
    on
        The day.
    """
    from cropcal.planning.schedule.jobs import noted_jobs, overdue, remaining_jobs, used_up_batches
    from cropcal.planning.schedule.scouting import scouting_list
    from cropcal.planning.site.bed_light import bed_lights
    from cropcal.planning.water.zone_water import pumps_stopped

    until = plan.until if isinstance(plan, WrittenPlan) else period_of(plan)[1]
    until = until or space.first_day + timedelta(weeks=space.asked_weeks, days=-1)
    last = last_sowing(plan.jobs, plan.supply, until)
    events = [event for event in events if event.on <= on]
    nurseries = frozenset(bed.name for bed in space.beds if bed.kind == "nursery")
    gone = used_up_batches(plan.batches, events, nurseries, tables.crops)
    done = noted_jobs(plan.jobs, events)
    jobs = remaining_jobs(plan.jobs, done, gone)
    late = overdue(jobs, events, on)
    unsown = {job.batch for job in late if job.job in ("sow", "plant")}
    sown = [batch for batch in plan.batches if batch.id not in unsown]
    lights = bed_lights(space, tables)
    past = Past(on=on, batches=plan.batches, sites=plan.sites, events=tuple(events))
    return Week(
        place=space.place.name,
        on=on,
        start=space.first_day,
        until=until,
        jobs=jobs,
        done=done,
        overdue=late,
        habits=plan.habits,
        last_sowing=last.on if last and last.tell_from <= on else None,
        bed_of={batch.id: batch.bed for batch in plan.batches},
        looks=scouting_list(sown, events, space, tables, lights, on),
        water=plan.water,
        stopped_pumps=pumps_stopped(space, tables, lights, past),
    )
