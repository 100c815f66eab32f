# %% [markdown]
# # A fleet in charts
#
# Cells as in a notebook; run whole, it prints what each chart says. A chart is a `Figure`: in a notebook,
# `IPython.display.SVG(figure.svg())` shows it, and `figure.save("name.svg")` keeps it.

# %%
import polars as pl

from stemlore import rulebook
from stemlore.audit import audit_fleet
from stemlore.figures import margins, outcomes_by_rule

# %% [markdown]
# An invented fleet: treads and pressures spread round what is usual, and some are not known.

# %%
count = 200
wheels = pl.DataFrame(
    {
        "vehicle_id": [number // 4 for number in range(4 * count)],
        "vehicle_axle_count": [2] * 4 * count,
        "axle_number": [1 + number // 2 % 2 for number in range(4 * count)],
        "side": [("left", "right")[number % 2] for number in range(4 * count)],
        "vehicle_category": ["M1"] * 4 * count,
        "tyre_tread_depth_main_grooves_mm": [
            None if number % 29 == 3 else 1.0 + (number * 37 % 100) ** 1.2 / 40 for number in range(4 * count)
        ],
    }
)
run = audit_fleet(wheels, rulebook("DE", on="2026-11-25"))

# %% [markdown]
# ## What fails most

# %%
figure = outcomes_by_rule(run)
print(figure.description)

# %% [markdown]
# ## By how much

# %%
figure = margins(run, "de.tyre.tread_depth")
print(figure.description)
assert figure.svg().startswith("<svg")

# %% [markdown]
# ## What to measure first

# %%
for row in run.needs().head(3).iter_rows(named=True):
    print(f"{row['meaning']}: {row['findings']} findings lack it")
