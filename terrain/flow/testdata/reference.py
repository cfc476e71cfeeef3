"""Filling by scikit-image and accumulation by scipy, for terrain/flow's tests.

usage: reference.py FOLDER
  in:  FOLDER/grids.txt, a line a grid: name rows cols height (of a cell, its width
       being 1; 0 where no directions are there)
       FOLDER/NAME.z    float32, row-major, NaN void
       FOLDER/NAME.dir  uint8 directions (1 E, 2 SE, 4 S, ... 0 out, 255 void), if there
  out: FOLDER/NAME.fill float32; if there are directions FOLDER/NAME.acc float64,
       cells draining by them, and FOLDER/NAME.mfd float64, cells draining in
       shares as the slope to the power 1.1 (Freeman 1991)
With FOLDER/jacksboro asked for in grids.txt as rows = 0, the elevation sample
of matplotlib is written there first: FOLDER/jacksboro.z and its size.
"""
import sys
import numpy as np
from scipy.sparse import coo_matrix, identity
from scipy.sparse.linalg import spsolve
from skimage.morphology import reconstruction

STEPS = {1: (0, 1), 2: (1, 1), 4: (1, 0), 8: (1, -1), 16: (0, -1), 32: (-1, -1), 64: (-1, 0), 128: (-1, 1)}


def fill(z):
    # Voids and the world beyond the edge drain: pad with a frame, put voids at
    # the bottom, and let every cell beside either keep its own level.
    void = np.isnan(z)
    padded = np.pad(void, 1, constant_values=True)
    seed = np.zeros(z.shape, bool)
    rows, cols = z.shape
    for dr in (-1, 0, 1):
        for dc in (-1, 0, 1):
            seed |= padded[1 + dr:1 + dr + rows, 1 + dc:1 + dc + cols]
    low, high = np.nanmin(z) - 1, np.nanmax(z) + 1
    mask = np.where(void, low, z).astype(np.float64)
    start = np.where(seed, mask, high)
    out = reconstruction(start, mask, method="erosion", footprint=np.ones((3, 3)))
    return np.where(void, np.nan, out).astype(np.float32)


def accumulate(d):
    rows, cols = d.shape
    src, dst = [], []
    for code, (dr, dc) in STEPS.items():
        r, c = np.nonzero(d == code)
        src.append(r * cols + c)
        dst.append((r + dr) * cols + c + dc)
    src, dst = np.concatenate(src), np.concatenate(dst)
    n = rows * cols
    into = coo_matrix((np.ones(len(src)), (dst, src)), shape=(n, n)).tocsc()
    ones = (d.ravel() != 255).astype(float)
    return spsolve(identity(n, format="csc") - into, ones)


def disperse(f, d, height):
    rows, cols = f.shape
    inner = (d != 0) & (d != 255)
    at = np.arange(rows * cols).reshape(rows, cols)
    powers = {}
    for code, (dr, dc) in STEPS.items():
        there = np.roll(f, (-dr, -dc), (0, 1)).astype(np.float64)
        slope = (f - there) / np.hypot(dc, dr * height)
        powers[code] = np.where(inner & (slope > 0), slope, 0) ** 1.1
    total = sum(powers.values())
    src, dst, share = [], [], []
    for code, (dr, dc) in STEPS.items():
        # Without a lower neighbour all goes the way over the flat.
        part = np.where(total > 0, powers[code] / np.where(total > 0, total, 1), inner & (d == code))
        r, c = np.nonzero(part)
        src.append(at[r, c])
        dst.append(at[r + dr, c + dc])
        share.append(part[r, c])
    src, dst, share = map(np.concatenate, (src, dst, share))
    n = rows * cols
    into = coo_matrix((share, (dst, src)), shape=(n, n)).tocsc()
    return spsolve(identity(n, format="csc") - into, (d.ravel() != 255).astype(float))


def main(folder):
    for line in open(f"{folder}/grids.txt"):
        name, rows, cols, height = line.split()
        rows, cols = int(rows), int(cols)
        if rows == 0:
            from matplotlib.cbook import get_sample_data
            z = get_sample_data("jacksboro_fault_dem.npz", np_load=True)["elevation"].astype(np.float32)
            z.tofile(f"{folder}/{name}.z")
            fill(z).tofile(f"{folder}/{name}.fill")
            print(name, *z.shape)
            continue
        z = np.fromfile(f"{folder}/{name}.z", np.float32).reshape(rows, cols)
        filled = fill(z)
        filled.tofile(f"{folder}/{name}.fill")
        if float(height) > 0:
            d = np.fromfile(f"{folder}/{name}.dir", np.uint8).reshape(rows, cols)
            accumulate(d).tofile(f"{folder}/{name}.acc")
            disperse(filled, d, float(height)).tofile(f"{folder}/{name}.mfd")


main(sys.argv[1])
