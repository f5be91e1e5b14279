"""Published checks that count, by layer, below which their number must not fall; see `live_checks`.
Raise these when checks are added."""

FLOORS = {
    "weather": 220,
    "plants": 84,
    "scenario": 100,
    "tracing": 57,
    "measures": 19,
    "waterworks": 13,
    "outputs": 8,
}
LEAST = 420
LEAST_THROUGH = 100
LEAST_WORKS = 60
