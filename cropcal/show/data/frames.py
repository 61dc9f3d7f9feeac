"""Tables as pandas DataFrames, with real types: days, numbers, text; what is not known is missing."""

from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np

from cropcal.show.data.tables import Cell, Kind, Table

if TYPE_CHECKING:  # it takes a second to load, which no command needs
    import pandas as pd


def frame(table: Table) -> "pd.DataFrame":
    """Return a table as a DataFrame.

    Returns
    -------
    frame
        One column for each of the table's, in its order. Days are ``datetime64[s]``, a month is its first
        day; whole numbers ``int64``, others ``float64`` with NaN for None; text ``string``.
    """
    import pandas as pd

    columns = zip(*table.rows, strict=True) if table.rows else [()] * len(table.columns)
    return pd.DataFrame(
        {
            name: pd.Series(_values(cells, kind), dtype="string" if kind == "text" else None)
            for (name, kind), cells in zip(table.columns.items(), columns, strict=True)
        }
    )


def _values(cells: tuple[Cell, ...], kind: Kind) -> Any:
    """Return a column's cells with the dtype that pandas keeps."""
    match kind:
        case "text":
            return list(cells)
        case "day" | "month":
            days = [date.fromisoformat(f"{cell}-01") if isinstance(cell, str) else cell for cell in cells]
            return np.array(days, dtype="datetime64[D]").astype("datetime64[s]")
        case "whole":
            return np.array(cells, dtype=np.int64)
        case "yes":
            return np.array(cells, dtype=np.bool_)
    return np.array([np.nan if cell is None else cell for cell in cells], dtype=np.float64)
