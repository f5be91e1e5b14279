"""Bands of constant width with rounded corners, and the heads of their arrows."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

Point = tuple[float, float]
_STEPS = 16  # pieces of a quarter turn


def ribbon(points: Sequence[Point], width: float, *, head: float = 0.0) -> np.ndarray:
    """Outline, shape (corner, 2) [in], of a band along a line with right-angled corners; `head` is
    the length of the arrow head within the line [in]."""
    line = np.array(points, dtype=float)
    tip, way = line[-1].copy(), _direction(line[-2], line[-1])
    line[-1] -= head * way
    middle, normal = _rounded(line, width)
    left, right = middle + 0.5 * width * normal, middle - 0.5 * width * normal
    if not head:
        return np.concatenate([left, right[::-1]])
    wing = head_width(width) / 2 * np.array([-way[1], way[0]])
    barbs = [middle[-1] + wing, tip, middle[-1] - wing]
    return np.concatenate([left, barbs, right[::-1]])


def head_width(width: float) -> float:
    """Width of an arrow head on a band: seen on the thinnest, not clumsy on the widest [in]."""
    return max(width + 0.14, 0.2)


def _direction(start: np.ndarray, end: np.ndarray) -> np.ndarray:
    return (end - start) / np.linalg.norm(end - start)


def _rounded(line: np.ndarray, width: float) -> tuple[np.ndarray, np.ndarray]:
    """Points of the middle line with corners rounded, and the normal to the left at each."""
    ways = [_direction(a, b) for a, b in pairwise(line)]
    lefts = [np.array([-way[1], way[0]]) for way in ways]
    points, normals = [line[0]], [lefts[0]]
    for corner, way, after, left in zip(line[1:-1], ways, ways[1:], lefts, strict=False):
        radius = 0.5 * width + 0.1
        turn = np.sign(way[0] * after[1] - way[1] * after[0])  # +1 to the left
        centre = corner - radius * way + turn * radius * left
        for angle in np.linspace(0.0, np.pi / 2, _STEPS + 1):
            outward = -turn * left * np.cos(angle) + way * np.sin(angle)
            points.append(centre + radius * outward)
            normals.append(-turn * outward)
    return np.array([*points, line[-1]]), np.array([*normals, lefts[-1]])
