"""Reads the Arrow trace of a run with Polars: how long each phase took, and how far the shown vessel mass is from the truth.

    cargo run --release -- run mild_hatchback --trace arrow --out demo
    pip install -r sim-host/examples/requirements.txt
    python sim-host/examples/read_trace.py demo/trace.arrow
"""

import sys

import polars as pl


def main(path: str) -> None:
    trace = pl.read_ipc(path)
    print(f"{trace.height} samples of {trace.width} columns")
    phases = (
        trace.filter(pl.col("phase") != "")
        .group_by("phase", maintain_order=True)
        .agg(
            (pl.col("time").last() - pl.col("time").first()).round(1).alias("seconds"),
            pl.col("pt1").max().round(2).alias("vessel_bar_max"),
            (pl.col("pt1") - pl.col("pt1_true")).abs().max().round(3).alias("pt1_off_bar"),
            pl.col("C-1").mean().round(3).alias("share_with_C1_on"),
        )
    )
    with pl.Config(tbl_rows=20, tbl_hide_dataframe_shape=True):
        print(phases)
    recovery = phases.filter(pl.col("phase") == "recover")
    assert recovery.height == 1 and recovery["share_with_C1_on"][0] > 0.3, "C-1 runs in a recovery, with rests"
    assert phases["pt1_off_bar"].max() < 1.0, "PT-1 follows the vessel"


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(sys.argv[1])
