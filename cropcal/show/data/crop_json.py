"""The JSON form of one crop's values and whose they are."""

from collections.abc import Mapping

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
