"""Minimum-weight maximum matching of a complete graph by networkx."""

import json
import sys

import networkx

distances = json.load(sys.stdin)["distances"]
graph = networkx.Graph()
n = len(distances)
graph.add_nodes_from(range(n))
graph.add_weighted_edges_from((i, j, distances[i][j]) for i in range(n) for j in range(i))
pairs = networkx.min_weight_matching(graph)
json.dump({"pairs": sorted(sorted(p) for p in pairs), "total": sum(distances[i][j] for i, j in pairs)}, sys.stdout)
