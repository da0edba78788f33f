"""Shows the gyroscope's unit: gravity, carried back into one set of axes, must stand still.

    python gyro_unit.py

The arm swings through more than 90 degrees in FEL and ABD, so gravity wanders all over the sensor's axes. Carry every
accelerometer sample of a window back into the axes of the window's first sample with the integrated gyroscope rates
times a factor k. If k puts the rates into rad/s, what is left is gravity, standing still, plus the hand's own
acceleration, whose mean over the window is the change of velocity divided by the window and so nearly zero: the mean
has a length of 1 g. With any other k gravity smears and the mean is shorter. The factor that fits is 1 if the numbers
are rad/s and pi/180 = 0.0175 if they are deg/s; a negative one would mean left-handed axes or a turned sign.
Source: kinematics of a rotating frame (closed form); scipy's rotation class as the reference implementation.
"""

import numpy as np
from scipy.spatial.transform import Rotation

from export import RATE_HZ, load_series

EXERCISES = ("FEL", "ABD")
WINDOW_S = 6.0
FACTORS = (-1.0, np.pi / 180.0, 0.25, 0.5, 0.8, 0.9, 0.95, 1.0, 1.05, 1.1, 1.25, 180.0 / np.pi)


def mean_length_g(accel_g, gyro, factor):
    """Length of the mean accelerometer vector after carrying all samples into the axes of the first one."""
    first_from_sensor = Rotation.identity()
    total = np.zeros(3)
    steps = Rotation.from_rotvec(0.5 * (gyro[:-1] + gyro[1:]) * factor / RATE_HZ)
    for index, vector in enumerate(accel_g):
        total += first_from_sensor.apply(vector)
        if index < len(steps):
            first_from_sensor = first_from_sensor * steps[index]
    return np.linalg.norm(total / len(accel_g))


def main():
    """Prints, for each factor, the median length over the windows of all FEL and ABD series."""
    window = int(WINDOW_S * RATE_HZ)
    pieces = [
        series.samples[start : start + window]
        for series in load_series()
        if series.exercise in EXERCISES
        for start in range(0, len(series.samples) - window, window)
    ]
    print(f"{len(pieces)} windows of {WINDOW_S} s; median length of the mean vector, g")
    for factor in FACTORS:
        lengths = [mean_length_g(piece[:, :3], piece[:, 3:], factor) for piece in pieces]
        print(f"rates times {factor:8.4f}: {np.median(lengths):.3f}")


if __name__ == "__main__":
    main()
