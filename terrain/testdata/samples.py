"""The elevation rasters matplotlib has as samples, for terrain's tests.

usage: samples.py FOLDER; writes FOLDER/NAME.z, float32, and prints NAME rows cols
"""
import sys
import numpy as np
from matplotlib.cbook import get_sample_data

for name, file, key in (("hills", "jacksboro_fault_dem.npz", "elevation"), ("coast", "topobathy.npz", "topo")):
    with get_sample_data(file, np_load=True) as data:
        z = data[key].astype(np.float32)
    z.tofile(f"{sys.argv[1]}/{name}.z")
    print(name, *z.shape)
