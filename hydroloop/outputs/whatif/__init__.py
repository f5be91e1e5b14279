"""What a what-if is turned into: comparisons, grids and bands as documents."""
