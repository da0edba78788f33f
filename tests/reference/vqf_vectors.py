"""Makes vqf_vectors.csv: an invented hand movement and what the published filter says of it.

Source of the answers: the C++ reference of VQF (Laidig & Seel, Information Fusion 91:187-204,
2023) in the PyPI package vqf 2.1.2, default settings, no magnetometer; numpy 2.4.6.
Run in this folder: pip install vqf==2.1.2 numpy==2.4.6 && python vqf_vectors.py
"""

import numpy as np
from vqf import VQF, offlineVQF

RATE_HZ = 40.0
COUNT = 1000  # 25 s

rng = np.random.default_rng(20240229)
t = np.arange(COUNT) / RATE_HZ
# Still for 3 s, then turns about three axes at once with a rest in the middle.
moving = np.clip((t - 3.0) / 1.0, 0, 1) * (1 - ((t > 13.0) & (t < 16.0)))
rate = np.stack(
    [
        1.9 * np.sin(2 * np.pi * 0.31 * t),
        1.1 * np.sin(2 * np.pi * 0.47 * t + 1.0),
        0.7 * np.sin(2 * np.pi * 0.19 * t + 2.0),
    ],
    axis=1,
) * moving[:, None]

# True orientation (sensor to world) as rotation matrices, turned by the rate since the sample before.
gravity = np.array([0.0, 0.0, 9.81])
rotation = np.eye(3)
accel = np.empty((COUNT, 3))
lever = np.array([0.07, 0.01, -0.02])
alpha = np.gradient(rate, 1 / RATE_HZ, axis=0)
for k in range(COUNT):
    angle = np.linalg.norm(rate[k]) / RATE_HZ
    if angle > 0:
        x, y, z = rate[k] / np.linalg.norm(rate[k])
        cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
        rotation = rotation @ (
            np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross
        )
    accel[k] = (
        rotation.T @ gravity
        + np.cross(alpha[k], lever)
        + np.cross(rate[k], np.cross(rate[k], lever))
    )

gyro = rate + np.radians([0.6, -0.4, 0.3]) + rng.normal(0, np.radians(0.1), (COUNT, 3))
accel = accel + rng.normal(0, 0.03, (COUNT, 3))
# The filter is given exactly what the file holds.
gyro = np.ascontiguousarray(np.round(gyro, 6))
accel = np.ascontiguousarray(np.round(accel, 5))

real_time = VQF(1 / RATE_HZ).updateBatch(gyro, accel)
offline = offlineVQF(gyro, accel, None, 1 / RATE_HZ)

with open("vqf_vectors.csv", "w", newline="\n") as file:
    names = "t_s ax ay az gx gy gz rt_w rt_x rt_y rt_z off_w off_x off_y off_z"
    file.write(",".join(names.split()) + "\n")
    for k in range(COUNT):
        cells = [f"{t[k]:.3f}"]
        cells += [f"{v:.5f}" for v in accel[k]] + [f"{v:.6f}" for v in gyro[k]]
        cells += [f"{v:.11f}" for v in real_time["quat6D"][k]]
        cells += [f"{v:.9f}" for v in offline["quat6D"][k]]
        file.write(",".join(cells) + "\n")
