"""The year of daylight as JSON."""

from cropcal.records.daylight import CropNeed, DaylightYear, ZoneSun
from cropcal.show.data.json_forms import Json


def daylight(daylight_year: DaylightYear) -> Json:
    """Return ``months[]`` with light and hours by zone, and ``zones[]`` with what the crops ask."""
    return {
        "place": daylight_year.place,
        "latitude": daylight_year.latitude,
        "longitude": daylight_year.longitude,
        "source": daylight_year.source,
        "sd_ln_outdoor": daylight_year.sd_ln_outdoor,
        "months": [_month(daylight_year, number) for number in range(12)],
        "zones": [_zone(zone) for zone in daylight_year.zones],
        "warnings": list(daylight_year.warnings),
        "assumptions": [item.model_dump() for item in daylight_year.assumptions],
    }


def _month(daylight_year: DaylightYear, number: int) -> Json:
    return {
        "month": f"{daylight_year.year}-{number + 1:02d}",
        "day_length_h": daylight_year.day_length_h[number],
        "outdoor_dli_mol_m2_d": daylight_year.outdoor_mol_m2_d[number],
        "indoor_dli_mol_m2_d": {zone.zone: zone.sun_mol_m2_d[number] for zone in daylight_year.zones},
        "lamp_hours_needed": {zone.zone: zone.needed_h[number] for zone in daylight_year.zones},
        "lamp_hours_enough": {zone.zone: zone.enough_h[number] for zone in daylight_year.zones},
        "lamp_hours": {zone.zone: zone.lamp_h[number] for zone in daylight_year.zones},
        "lamp_dli_mol_m2_d": {zone.zone: zone.lamp_mol_m2_d[number] for zone in daylight_year.zones},
        "day_seen_h": {zone.zone: zone.day_seen_h[number] for zone in daylight_year.zones},
    }


def _zone(zone: ZoneSun) -> Json:
    return {
        "zone": zone.zone,
        "window": zone.has_window,
        "lamp": zone.has_lamp,
        "sd_ln_sun": zone.sd_ln_sun,
        "crops": [_crop(crop) for crop in zone.crops],
    }


def _crop(crop: CropNeed) -> Json:
    return {
        "crop": crop.crop,
        "dli_min_mol_m2_d": crop.least_mol_m2_d,
        "dli_enough_mol_m2_d": crop.enough_mol_m2_d,
        "dli_target_mol_m2_d": crop.best_mol_m2_d,
        "dli_max_mol_m2_d": crop.ceiling_mol_m2_d,
        "photoperiod_max_h": crop.longest_day_h,
        "lamp_hours_enough": list(crop.enough_h),
        "lamp_hours_needed": list(crop.best_h),
    }
