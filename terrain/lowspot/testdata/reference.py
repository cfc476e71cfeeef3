"""Low spots by scipy, for terrain/lowspot's tests.

usage: reference.py FOLDER
  in:  FOLDER/grids.txt, a line a grid: name rows cols
       FOLDER/NAME.z     float32, row-major, NaN void
       FOLDER/NAME.fill  float32, the same filled
  out: standard output, a line a low spot: name first-cell cells volume depth
"""
import sys
import numpy as np
from scipy import ndimage


def main(folder):
    for line in open(f"{folder}/grids.txt"):
        name, rows, cols = line.split()
        shape = int(rows), int(cols)
        z = np.fromfile(f"{folder}/{name}.z", np.float32).reshape(shape).astype(float)
        f = np.fromfile(f"{folder}/{name}.fill", np.float32).reshape(shape).astype(float)
        depth = np.nan_to_num(f - z)
        labels, n = ndimage.label(depth > 0, np.ones((3, 3)))
        for k in range(1, n + 1):
            inside = labels == k
            print(name, np.flatnonzero(inside)[0], inside.sum(), repr(float(depth[inside].sum())), repr(float(depth[inside].max())))


main(sys.argv[1])
