"""Published checks that count, by layer, below which their number must not fall; see `live_checks`.
Raise these when checks are added."""

FLOORS = {
    "weather": 201,
    "scenario": 131,
    "plants": 97,
    "tracing": 60,
    "measures": 21,
    "waterworks": 13,
    "outputs": 8,
}
LEAST = 531
LEAST_THROUGH = 210
LEAST_WORKS = 70
