"""A surface's drainage as questions about graphs, answered by networkx.

usage: graph.py FOLDER
  in:  FOLDER/grids.txt, a line a grid: number rows cols, and a cell to look up from
       FOLDER/NUMBER.z    float32, row-major, NaN void
       FOLDER/NUMBER.dir  uint8 directions on the filled surface
       FOLDER/NUMBER.bare uint8 directions on the surface itself
  out: FOLDER/NUMBER.level  float32: over the way out that climbs least, its highest cell
       FOLDER/NUMBER.acc    uint32: cells that drain through each
       FOLDER/NUMBER.up     uint8: 1 for the cell to look up from and its ancestors
       FOLDER/NUMBER.basin  int32: the first cell of those that drain to one pit, -1 outside
       FOLDER/NUMBER.spot   int32: the first cell of the wet ones that hang together, -1 dry
"""
import math
import sys
import networkx as nx
import numpy as np

STEPS = {1: (0, 1), 2: (1, 1), 4: (1, 0), 8: (1, -1), 16: (0, -1), 32: (-1, -1), 64: (-1, 0), 128: (-1, 1)}
HALF = list(STEPS.values())[:4]  # each pair of neighbours once
OUTSIDE = -1
OUT, PIT, VOID = 0, 254, 255


def neighbours(z):
    """Pairs of cells with elevations that touch, and the cells that drain straight out."""
    rows, cols = z.shape
    known = ~np.isnan(z)
    at = np.arange(rows * cols).reshape(rows, cols)
    pairs = []
    for dr, dc in HALF:
        here = np.s_[0:rows - dr, max(0, -dc):cols - max(0, dc)]
        there = np.s_[dr:rows, max(0, dc):cols + min(0, dc)]
        both = known[here] & known[there]
        pairs += zip(at[here][both].tolist(), at[there][both].tolist())
    framed = np.pad(known, 1)
    inner = np.ones(z.shape, bool)
    for dr in (-1, 0, 1):
        for dc in (-1, 0, 1):
            inner &= framed[1 + dr:1 + dr + rows, 1 + dc:1 + dc + cols]
    return pairs, at[known & ~inner].tolist()


def levels(z, pairs, seeds):
    """Among all ways between two cells the one in a minimum spanning tree climbs least."""
    flat = z.ravel().tolist()
    g = nx.Graph()
    g.add_weighted_edges_from((a, b, max(flat[a], flat[b])) for a, b in pairs)
    g.add_weighted_edges_from((OUTSIDE, s, flat[s]) for s in seeds)
    tree = nx.minimum_spanning_tree(g)
    level = {OUTSIDE: -math.inf}
    for a, b in nx.bfs_edges(tree, OUTSIDE):
        level[b] = max(level[a], tree[a][b]["weight"])
    return np.array([level.get(i, math.nan) for i in range(len(flat))], np.float32)


def ways(d):
    rows, cols = d.shape
    flat = d.ravel().tolist()
    g = nx.DiGraph()
    g.add_nodes_from(i for i, code in enumerate(flat) if code != VOID)
    for i, code in enumerate(flat):
        if code in STEPS:
            dr, dc = STEPS[code]
            g.add_edge(i, i + dr * cols + dc)
    return g


def counts(g, n):
    acc = np.zeros(n, np.uint32)
    for i in nx.topological_sort(g):  # raises where water goes in a circle
        acc[i] += 1
        for j in g.successors(i):
            acc[j] += acc[i]
    return acc


def first_of_each(parts, n):
    first = np.full(n, -1, np.int32)
    for part in parts:
        first[list(part)] = min(part)
    return first


def basins(z, bare, pairs):
    flat, code = z.ravel(), bare.ravel()
    g = ways(bare)
    g.add_edges_from((a, b) for a, b in pairs if code[a] == PIT and code[b] == PIT and flat[a] == flat[b])
    parts = (p for p in nx.weakly_connected_components(g) if all(code[i] != OUT for i in p))
    return first_of_each(parts, z.size)


def spots(z, level, pairs):
    wet = level > z.ravel()
    g = nx.Graph()
    g.add_nodes_from(np.flatnonzero(wet).tolist())
    g.add_edges_from((a, b) for a, b in pairs if wet[a] and wet[b])
    return first_of_each(nx.connected_components(g), z.size)


def main(folder):
    for line in open(f"{folder}/grids.txt"):
        name, rows, cols, look = map(int, line.split())
        read = lambda kind, of: np.fromfile(f"{folder}/{name}.{kind}", of).reshape(rows, cols)
        save = lambda kind, v: v.tofile(f"{folder}/{name}.{kind}")
        z = read("z", np.float32)
        pairs, seeds = neighbours(z)
        level = levels(z, pairs, seeds)
        down = ways(read("dir", np.uint8))
        save("level", level)
        save("acc", counts(down, z.size))
        up = np.zeros(z.size, np.uint8)
        up[list(nx.ancestors(down, look) | {look})] = 1
        save("up", up)
        save("basin", basins(z, read("bare", np.uint8), pairs))
        save("spot", spots(z, level, pairs))


main(sys.argv[1])
