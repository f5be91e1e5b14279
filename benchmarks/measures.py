"""What all measures of a run cost, as ratios within one run.

    python benchmarks/measures.py [MOST_TOWNS]

The table of measures of the five towns over simulating and tracing the same season; of a chain of
towns, 5, 20 and so on up to MOST_TOWNS (60), how the cost grows. Times depend on the machine;
ratios are what to watch.
"""

from __future__ import annotations

import argparse

import numpy as np
from main_job import chain_of_towns, least_time

import hydroloop as hl


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("most_towns", type=int, nargs="?", default=60)
    most = parser.parse_args().most_towns
    scenario = hl.read_scenario("five_towns")
    record = hl.simulate(scenario)
    hl.measures(record, scenario)
    both = least_time(lambda: hl.count_uses(hl.simulate(scenario), most=5))
    measuring = least_time(lambda: hl.measures(record, scenario))
    print(f"five towns: simulate and trace {1000 * both:8.1f} ms")
    print(f"  all measures                 {1000 * measuring:8.1f} ms")
    print(f"  measures over both           {measuring / both:8.1f}   (at most 3)")
    counts = [count for count in (5, 20, 60, 200) if count <= most]
    taken = []
    for count in counts:
        chain = chain_of_towns(count)
        made = hl.simulate(chain)
        hl.measures(made, chain)  # plans of its networks are made once
        taken.append(least_time(lambda made=made, chain=chain: hl.measures(made, chain), 3))
        print(f"  measures of {count:4d} towns        {1000 * taken[-1]:8.1f} ms")
    if len(counts) > 1:
        exponent = np.polyfit(np.log(counts), np.log(taken), 1)[0]
        print(f"  20 towns over 5              {taken[1] / taken[0]:8.1f}   (under 4)")
        print(f"  exponent of cost over towns  {exponent:8.2f}   (at most 1.2)")


if __name__ == "__main__":
    main()
