"""Plots every open series for counting repetitions by eye: raw signals, nothing derived but a smoothing overlay.

    python plot.py OUT [--from 0] [--to 139] [--row-s 20] [--smooth-hz 4] [--start-s A --end-s B]

Reads the watch data set of the installed package seglearn 1.2.5 (see README.md) and writes OUT/NNN.png.
Each row of the picture covers up to --row-s seconds with two panels: the three accelerometer axes (g) above, the
three gyroscope axes (rad/s) below. Thin pale lines are the samples as they are; the bold lines are the same after
a zero-phase low pass (4th-order Butterworth run both ways), for legibility. Strong grid lines each 5 s, faint ones
each 1 s. Neighbouring rows overlap by 1 s (shaded), so that nothing falls between them. Nothing is counted here.
"""

import argparse
import pathlib

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np
from matplotlib.ticker import MultipleLocator
from scipy.signal import butter, sosfiltfilt

from export import RATE_HZ, load_series

COLOURS = ("#c03020", "#208030", "#2040c0")
OVERLAP_S = 1.0


def draw(series, out, row_s, smooth_hz, start_s, end_s):
    """Writes the picture of one series."""
    samples = series.samples
    t_s = np.arange(len(samples)) / RATE_HZ
    smooth = sosfiltfilt(butter(2, smooth_hz, fs=RATE_HZ, output="sos"), samples, axis=0)
    last_s = t_s[-1] if end_s is None else min(end_s, t_s[-1])
    rows = max(1, int(np.ceil((last_s - start_s) / row_s)))
    span_s = (last_s - start_s) / rows
    figure, axes = plt.subplots(
        2 * rows, 1, figsize=(20, 0.5 + 5.2 * rows), dpi=100, squeeze=False, constrained_layout=True
    )
    panels = (("accel, g", slice(0, 3), "xyz"), ("gyro, rad/s", slice(3, 6), "xyz"))
    for row in range(rows):
        a_s = start_s + row * span_s
        b_s = min(a_s + span_s + (OVERLAP_S if row + 1 < rows else 0.0), last_s)
        for panel, (label, columns, names) in enumerate(panels):
            axis = axes[2 * row + panel][0]
            inside = (t_s >= a_s - 0.5) & (t_s <= b_s + 0.5)
            raw, soft = samples[inside, columns], smooth[inside, columns]
            for k, colour in enumerate(COLOURS):
                axis.plot(t_s[inside], raw[:, k], color=colour, lw=0.7, alpha=0.45)
                axis.plot(t_s[inside], soft[:, k], color=colour, lw=1.8, label=names[k])
            axis.set_xlim(a_s - 0.2, b_s + 0.2)
            if row > 0:
                axis.axvspan(a_s - 0.2, a_s + OVERLAP_S, color="#888888", alpha=0.12)
            if row + 1 < rows:
                axis.axvspan(b_s - OVERLAP_S, b_s + 0.2, color="#888888", alpha=0.12)
            axis.xaxis.set_major_locator(MultipleLocator(5))
            axis.xaxis.set_minor_locator(MultipleLocator(1))
            axis.grid(which="major", color="#333333", lw=1.0)
            axis.grid(which="minor", axis="x", color="#bbbbbb", lw=0.6)
            axis.set_ylabel(label)
            axis.legend(loc="upper right", ncols=3, fontsize=8)
            for second in range(int(np.ceil(a_s)), int(b_s) + 1):
                axis.annotate(str(second), (second, 0), xycoords=("data", "axes fraction"), fontsize=8,
                              xytext=(1, 2), textcoords="offset points", color="#555555")
    figure.suptitle(f"{series.number:03d}  {series.exercise}  subject {series.subject}  {len(samples)} samples  "
                    f"{len(samples) / RATE_HZ:.2f} s")
    figure.savefig(out)
    plt.close(figure)


def main():
    """Reads the arguments and draws the asked-for series."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=pathlib.Path)
    parser.add_argument("--from", dest="first", type=int, default=0)
    parser.add_argument("--to", dest="last", type=int, default=139)
    parser.add_argument("--row-s", type=float, default=20.0)
    parser.add_argument("--smooth-hz", type=float, default=4.0)
    parser.add_argument("--start-s", type=float, default=0.0)
    parser.add_argument("--end-s", type=float)
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    for series in load_series():
        if args.first <= series.number <= args.last:
            draw(series, args.out / f"{series.number:03d}.png", args.row_s, args.smooth_hz, args.start_s, args.end_s)


if __name__ == "__main__":
    main()
