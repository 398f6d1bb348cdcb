"""Reads the table of a campaign with Polars: how runs ended, which rows trip first, how near each hazard came.

    cargo run --release -- campaign quick --out quick
    pip install -r sim-host/examples/requirements.txt
    python sim-host/examples/read_campaign.py quick/result.parquet
"""

import sys

import polars as pl


def main(paths: list[str]) -> None:
    runs = pl.read_parquet(paths)
    assert runs.height > 0 and runs["index"].is_sorted() and runs["index"].n_unique() == runs.height
    ran = runs.filter(pl.col("hash").is_not_null())
    with pl.Config(tbl_rows=30, tbl_hide_dataframe_shape=True):
        print(runs.group_by("fate", "verdict").len().sort("fate", "verdict"))
        print(
            ran.group_by("first_row")
            .agg(pl.len().alias("runs"), pl.col("first_row_after_s").median().alias("median_after_s"))
            .sort("runs", descending=True)
            .head(8)
        )
        margins = [name for name in runs.columns if name.endswith("_margin")]
        print(ran.select(margins).min().unpivot(variable_name="hazard", value_name="least").sort("least").head(8))
    assert len(margins) == 25, "each hazard has its margin"
    assert ran["mass_error_g"].abs().max() < 1e-3, "the plant loses nothing"
    began = ran.explode("fault_began_s", "fault_at_s").drop_nulls(["fault_began_s", "fault_at_s"])
    assert (began["fault_began_s"] - began["fault_at_s"]).abs().max() < 0.11, "faults come when they were to come"
    trips = ran.filter(pl.col("first_row").is_not_null())
    assert (trips["row"].list.first() == trips["first_row"]).all()
    assert (trips["row_after_s"].list.len() == trips["row"].list.len()).all()


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    main(sys.argv[1:])
