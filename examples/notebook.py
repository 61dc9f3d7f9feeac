"""The whole chain from Python: crop table, light, bill, harvest date, sowing calendar, and a picture of it.

Run it in the folder of the clone, as a whole or cell by cell (``# %%``) in an editor that knows cells:

    python examples/notebook.py
"""

# %% From the space to a plan
import cropcal

season = cropcal.open("examples/millbrook")
crops = season.crops()[["slug", "name", "dli_min_mol_m2_d", "dli_target_mol_m2_d", "photoperiod_max_h"]]
light = season.bed_light()[["bed", "ppfd_umol_m2_s", "photoperiod_h", "dli_mol_m2_d"]]
suits = season.suitability().merge(light, on="bed").merge(crops, left_on="crop", right_on="slug")
bill = season.bill().groupby("month")[["kwh", "cost"]].sum().round(2)
crop, bed = suits.query("verdict == 'ok'")[["crop", "bed"]].iloc[0]
one_sowing = season.when(crop, sown=season.space.settings.start, bed=bed)
plan = season.plan(time_limit_s=20)
calendar = plan.sowings[["sow_on", "crop", "bed", "sites", "ready_from", "ready_until", "amount", "unit"]]
short = plan.supply.query("short > 0")[["week", "want", "wanted", "ready", "unit"]]

# %% The light: PPFD and hours make the DLI, against what each wanted crop asks for
columns = ["name", "bed", "ppfd_umol_m2_s", "photoperiod_h", "dli_mol_m2_d", "dli_min_mol_m2_d", "verdict"]
print(suits[columns].to_string(index=False, float_format="{:.1f}".format))

# %% The bill, month by month
print(bill.assign(currency=season.currency).to_string())

# %% One sowing: the middle, and the range that should hold in four cases of five
columns = ["crop", "bed", "sow_on", "cut", "ready_low_80", "ready", "ready_high_80", "g_per_plant"]
print(one_sowing[columns].to_string(index=False, float_format="{:.0f}".format))

# %% The sowing calendar, the weeks that fall short, and what to take care of
print(plan)
print(calendar.head(10).to_string(index=False))
print(short.to_string(index=False))
print(*plan.warnings, *plan.cautions, sep="\n")

# %% What is ready each week, against what is wanted
from datetime import timedelta

from matplotlib.dates import ConciseDateFormatter, MonthLocator
from matplotlib.figure import Figure

names = dict(zip(crops["slug"], crops["name"], strict=True))
wants = list(plan.supply.groupby("want", sort=False))
figure = Figure(figsize=(9, 1 + 1.7 * len(wants)), layout="constrained")
figure.suptitle(f"{season.space.place.name}: what is ready each week, and what is wanted")
rows = figure.subplots(len(wants), sharex=True, squeeze=False)[:, 0]
for axes, (want, weeks) in zip(rows, wants, strict=True):
    axes.bar(weeks["week"], weeks["ready"], 6, align="edge", color="#5b9279", label="ready")
    asked, missed = weeks[weeks["wanted"] > 0], weeks[weeks["short"] > 0]
    axes.hlines(asked["wanted"], asked["week"], asked["week"] + timedelta(days=6), "black", label="wanted")
    if len(missed):
        look = {"color": "none", "edgecolor": "#b3431e", "hatch": "////", "label": "short"}
        axes.bar(missed["week"], missed["short"], 6, missed["ready"], align="edge", **look)
    axes.set_title(" or ".join(names.get(slug, slug) for slug in want.split(" or ")), loc="left", fontsize=10)
    axes.set_ylabel(f"{weeks['unit'].iloc[0]} a week")
    axes.spines[["top", "right"]].set_visible(False)
months = MonthLocator()
rows[-1].xaxis.set_major_locator(months)
rows[-1].xaxis.set_major_formatter(ConciseDateFormatter(months))
rows[-1].set_xlabel("week that begins on")
shown = {label: part for axes in rows for part, label in zip(*axes.get_legend_handles_labels(), strict=True)}
figure.legend(shown.values(), shown.keys(), loc="outside lower right", ncols=3, frameon=False)
figure.savefig("supply.png", dpi=120)
