"""Exports the open watch series to CSV.

    python export.py OUT

Source: D. Burns, N. Leung, M. Hardisty, C. Whyne, P. Henry, S. McLachlin, "Shoulder physiotherapy exercise
recognition: machine learning the inertial signals from a smartwatch", Physiol Meas 39:075007, 2018,
doi:10.1088/1361-6579/aacfd9. The data are those that the package seglearn 1.2.5 (BSD-3-Clause) carries and
`seglearn.datasets.load_watch()` returns.

Writes OUT/NNN_EXERCISE_SUBJECT.csv for each of the 140 series, in the package's own order, and OUT/index.csv.
Columns: t_s (index / 50 Hz: the package gives no time stamps), ax_g, ay_g, az_g (g), gx_rad_s, gy_rad_s, gz_rad_s
(rad/s). Values are the package's, unchanged, as the shortest decimals that read back to the same f64.
The gyroscope unit is not written in the package; gyro_unit.py shows how it was found.
"""

import argparse
import csv
import dataclasses
import hashlib
import importlib.metadata
import pathlib

import numpy as np

RATE_HZ = 50.0
PACKAGE = "seglearn"
VERSION = "1.2.5"
DATA_FILE = "seglearn/data/watch_dataset.npy"
DATA_SHA256 = "eb122f23cdf06ef6bd6c6c5312958ec5cf9d038e2e6d457b8081662c75a42537"
COLUMNS = ("t_s", "ax_g", "ay_g", "az_g", "gx_rad_s", "gy_rad_s", "gz_rad_s")


@dataclasses.dataclass(frozen=True)
class Series:
    """One recorded set: its number in the package's order, its labels and its samples (n x 6: g, rad/s)."""

    number: int
    exercise: str
    subject: int
    side: str
    samples: np.ndarray


def load_series():
    """Returns the 140 series of the installed package.

    Reads the file that `load_watch()` reads, at the place where the package is installed; importing the package
    itself would need scikit-learn for nothing.
    """
    distribution = importlib.metadata.distribution(PACKAGE)
    if distribution.version != VERSION:
        raise SystemExit(f"{PACKAGE} {VERSION} is needed, {distribution.version} is installed")
    path = pathlib.Path(distribution.locate_file(DATA_FILE))
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    if digest != DATA_SHA256:
        raise SystemExit(f"{path}: SHA-256 {digest}, expected {DATA_SHA256}: not the data the counts belong to")
    watch = np.load(path, allow_pickle=True).item()
    if list(watch["X_labels"]) != ["ax", "ay", "az", "wx", "wy", "wz"]:
        raise SystemExit(f"{path}: unexpected channel labels {watch['X_labels']}")
    return [
        Series(
            number=number,
            exercise=watch["y_labels"][int(exercise)],
            subject=int(subject),
            side="right" if side == 1 else "left",
            samples=np.asarray(samples, dtype=np.float64),
        )
        for number, (samples, exercise, subject, side) in enumerate(
            zip(watch["X"], watch["y"], watch["subject"], watch["side"], strict=True)
        )
    ]


def write_series(series, out):
    """Writes one series and returns its file name."""
    name = f"{series.number:03d}_{series.exercise}_{series.subject}.csv"
    with open(out / name, "w", newline="", encoding="ascii") as file:
        file.write(",".join(COLUMNS) + "\n")
        for index, row in enumerate(series.samples):
            file.write(",".join(repr(float(value)) for value in (index / RATE_HZ, *row)) + "\n")
    return name


def main():
    """Exports everything to the folder named on the command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=pathlib.Path)
    out = parser.parse_args().out
    out.mkdir(parents=True, exist_ok=True)
    with open(out / "index.csv", "w", newline="", encoding="ascii") as file:
        index = csv.writer(file, lineterminator="\n")
        index.writerow(("series", "exercise", "subject", "side", "samples", "seconds", "file"))
        for series in load_series():
            count = len(series.samples)
            index.writerow((f"{series.number:03d}", series.exercise, series.subject, series.side, count,
                            count / RATE_HZ, write_series(series, out)))


if __name__ == "__main__":
    main()
