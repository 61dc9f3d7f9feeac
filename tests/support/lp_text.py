"""A programme, or some of its rows, as text in the LP format of solvers."""

import numpy as np


def as_text(programme, rows=(), stretches=()):
    """Return a programme as LP text; with names, only those rows, and price and bounds of those variables."""
    name_of, shown = {}, set()
    for stretch, first, count in programme.names:
        name_of |= {first + at: f"{stretch}_{at}" for at in range(count)}
        shown |= set(range(first, first + count)) if not rows or stretch in stretches else set()

    def terms(pairs):
        return " ".join(f"{'+' if value >= 0 else '-'} {abs(value):g} {name_of[at]}" for at, value in pairs)

    priced = [(at, cost) for at, cost in enumerate(programme.cost) if cost and at in shown]
    lines = ["minimize", *([" " + terms(priced)] if priced else [])]
    lines.append("subject to")
    for group in programme.rows:
        if rows and group.name not in rows:
            continue
        for number, (low, high) in enumerate(zip(group.low, group.high, strict=True)):
            of_row = group.row == number
            pairs = sorted(zip(group.variable[of_row], group.value[of_row], strict=True))
            sign = "=" if low == high else ">=" if np.isinf(high) else "<="
            lines.append(f" {group.name}_{number}: {terms(pairs)} {sign} {high if sign == '<=' else low:g}")
    lines.append("bounds")
    for at, (low, high) in enumerate(zip(programme.lower, programme.upper, strict=True)):
        lines += [f" {low:g} <= {name_of[at]} <= {high:g}"] if at in shown else []
    if not rows:
        lines += ["general", " " + " ".join(name_of[at] for at in range(programme.whole))]
    return "\n".join([*lines, "end", ""])
