"""The JSON forms of the crop table, and of one crop with whose values it has."""

from collections.abc import Iterable, Mapping

from cropcal.records.crop import Crop, Source
from cropcal.show.data.json_forms import Json


def crop_sources(crop: Crop, sources: Mapping[str, Source], units: Mapping[str, str]) -> Json:
    """Return one crop's ``values[]``, each with unit and source, and the ``citations[]`` that they name."""
    values = [
        {"column": column, "value": getattr(crop, column), "unit": units.get(column, "")}
        | source.model_dump(mode="json")
        for column, source in crop.sources.items()
        if getattr(crop, column) is not None
    ]
    keys = dict.fromkeys(key for source in crop.sources.values() for key in source.keys)
    return {
        "crop": crop.slug,
        "name": crop.name,
        "latin": crop.latin,
        "values": values,
        "citations": [sources[key].model_dump(mode="json") for key in keys if key in sources],
    }


def crops(rows: Iterable[Crop]) -> Json:
    """Return ``crops[]`` by slug; an unknown day-length limit is null."""
    keys = (
        "slug",
        "name",
        "unit",
        "dli_min_mol_m2_d",
        "dli_target_mol_m2_d",
        "dli_max_mol_m2_d",
        "photoperiod_max_h",
    )
    ordered = sorted(rows, key=lambda crop: crop.slug)
    return {
        "crops": [
            {key: getattr(crop, key) for key in keys}
            | {"sources": {column: source.model_dump(mode="json") for column, source in crop.sources.items()}}
            for crop in ordered
        ]
    }
