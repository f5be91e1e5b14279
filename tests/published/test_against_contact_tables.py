"""The contact tables for free chlorine, and the rules for entering them.

40 CFR 141.74(b)(3)(v) Tables 1.1 to 1.6 (EPA 815-R-20-003 Table B-1) for *Giardia*, EPA
815-R-20-003 Table B-2 for viruses: second-hand, from a transcription of the federal tables. Whole
numbers, tolerance 0.5. CHECKS holds the cells that other works quote; all 588 are held in one test.
"""

from __future__ import annotations

import pytest
from published_checks import Check

from hydroloop.plants.contact import required_ct
from hydroloop.plants.contact_tables import giardia_table, table_entry

PHS = (6.0, 6.5, 7.0, 7.5, 8.0, 8.5, 9.0)
# Temperature [C], free chlorine [mg/L], then CT [mg min/L] for 3 logs at each of PHS.
TABLES_1_1_TO_1_6 = """
0.5 0.4 137 163 195 237 277 329 390
0.5 0.6 141 168 200 239 286 342 407
0.5 0.8 145 172 205 246 295 354 422
0.5 1 148 176 210 253 304 365 437
0.5 1.2 152 180 215 259 313 376 451
0.5 1.4 155 184 221 266 321 387 464
0.5 1.6 157 189 226 273 329 397 477
0.5 1.8 162 193 231 279 338 407 489
0.5 2 165 197 236 286 346 417 500
0.5 2.2 169 201 242 297 353 426 511
0.5 2.4 172 205 247 298 361 435 522
0.5 2.6 175 209 252 304 368 444 533
0.5 2.8 178 213 257 310 375 452 543
0.5 3 181 217 261 316 382 460 552
5 0.4 97 117 139 166 198 236 279
5 0.6 100 120 143 171 204 244 291
5 0.8 103 122 146 175 210 252 301
5 1 105 125 149 179 216 260 312
5 1.2 107 127 152 183 221 267 320
5 1.4 109 130 155 187 227 274 329
5 1.6 111 132 158 192 232 281 337
5 1.8 114 135 162 196 238 287 345
5 2 116 138 165 200 243 294 353
5 2.2 118 140 169 204 248 300 361
5 2.4 120 143 172 209 253 306 368
5 2.6 122 146 175 213 258 312 375
5 2.8 124 148 178 217 263 318 382
5 3 126 151 182 221 268 324 389
10 0.4 73 88 104 125 149 177 209
10 0.6 75 90 107 128 153 183 218
10 0.8 78 92 110 131 158 189 226
10 1 79 94 112 134 162 195 234
10 1.2 80 95 114 137 166 200 240
10 1.4 82 98 116 140 170 206 247
10 1.6 83 99 119 144 174 211 253
10 1.8 86 101 122 147 179 215 259
10 2 87 104 124 150 182 221 265
10 2.2 89 105 127 153 186 225 271
10 2.4 90 107 129 157 190 230 276
10 2.6 92 110 131 160 194 234 281
10 2.8 93 111 134 163 197 239 287
10 3 95 113 137 166 201 243 292
15 0.4 49 59 70 83 99 118 140
15 0.6 50 60 72 86 102 122 146
15 0.8 52 61 73 88 105 126 151
15 1 53 63 75 90 108 130 156
15 1.2 54 64 76 92 111 134 160
15 1.4 55 65 78 94 114 137 165
15 1.6 56 66 79 96 116 141 169
15 1.8 57 68 81 98 119 144 173
15 2 58 69 83 100 122 147 177
15 2.2 59 70 85 102 124 150 181
15 2.4 60 72 86 105 127 153 184
15 2.6 61 73 88 107 129 156 188
15 2.8 62 74 89 109 132 159 191
15 3 63 76 91 111 134 162 195
20 0.4 36 44 52 62 74 89 105
20 0.6 38 45 54 64 77 92 109
20 0.8 39 46 55 66 79 95 113
20 1 39 47 56 67 81 98 117
20 1.2 40 48 57 69 83 100 120
20 1.4 41 49 58 70 85 103 123
20 1.6 42 50 59 72 87 105 126
20 1.8 43 51 61 74 89 108 129
20 2 44 52 62 75 91 110 132
20 2.2 44 53 63 77 93 113 135
20 2.4 45 54 65 78 95 115 138
20 2.6 46 55 66 80 97 117 141
20 2.8 47 56 67 81 99 119 143
20 3 47 57 68 83 101 122 146
25 0.4 24 29 35 42 50 59 70
25 0.6 25 30 36 43 51 61 73
25 0.8 26 31 37 44 53 63 75
25 1 26 31 37 45 54 65 78
25 1.2 27 32 38 46 55 67 80
25 1.4 27 33 39 47 57 69 82
25 1.6 28 33 40 48 58 70 84
25 1.8 29 34 41 49 60 72 86
25 2 29 35 41 50 61 74 88
25 2.2 30 35 42 51 62 75 90
25 2.4 30 36 43 52 63 77 92
25 2.6 31 37 44 53 65 78 94
25 2.8 31 37 45 54 66 80 96
25 3 32 38 46 55 67 81 97
"""
VIRUS_TEMPERATURES = (0.5, 5, 10, 15, 20, 25)
# Logs, pH, CT [mg min/L] at each of the temperatures, how known.
VIRUS = (
    (4, 9, (12, 8, 6, 4, 3, 2), "second-hand"),
    (4, 10, (90, 60, 45, 30, 22, 15), "second-hand"),
    (3, 9, (9, 6, 4, 3, 2, 1), "memory"),
    (2, 9, (6, 4, 3, 2, 1, 1), "memory"),
)
CFR = "40 CFR 141.74(b)(3)(v), as given in other works"
PAGE = "EPA tables C-1, C-4, as given on a page of contact tables"


def giardia(temperature_c, ph, chlorine, logs=3.0):
    return required_ct(
        "giardia", logs, temperature_c=temperature_c, ph=ph, chlorine_mg_per_l=chlorine
    )


def virus(temperature_c, ph, logs):
    return required_ct("virus", logs, temperature_c=temperature_c, ph=ph, chlorine_mg_per_l=1.0)


CHECKS: list[Check] = [
    *(
        Check(
            CFR,
            f"3 logs at {t} C, pH {ph}, {chlorine} mg/L",
            printed,
            0.5,
            lambda t=t, ph=ph, c=chlorine: giardia(t, ph, c),
            "mg min/L",
            "second-hand",
        )
        for t, ph, chlorine, printed in (
            (0.5, 6, 0.4, 137),
            (0.5, 6, 1.0, 148),
            (0.5, 6, 2.0, 165),
            (15, 7.5, 1.2, 92),
            (0.5, 8, 1.0, 304),
            (0.5, 7.5, 2.2, 297),
        )
    ),
    Check(
        PAGE,
        "1.5 logs at 0.4 C, pH 7.6, 0.82 mg/L",
        152,
        0,
        lambda: giardia(0.4, 7.6, 0.82, 1.5),
        "mg min/L",
        "second-hand",
    ),
    Check(
        PAGE,
        "3 logs at 15 C, pH 7.2, 1.1 mg/L",
        92,
        0,
        lambda: giardia(15, 7.2, 1.1),
        "mg min/L",
        "second-hand",
    ),
    *(
        Check(
            "EPA 815-R-20-003 Table B-2"
            + (" (from memory)" if known == "memory" else ", as given elsewhere"),
            f"viruses, {logs} logs at {t} C, pH {ph}",
            printed,
            0.5,
            lambda t=t, ph=ph, logs=logs: virus(t, ph, logs),
            "mg min/L",
            known,
        )
        for logs, ph, cells, known in VIRUS
        for t, printed in zip(VIRUS_TEMPERATURES, cells, strict=True)
    ),
]


def printed_cells():
    for line in TABLES_1_1_TO_1_6.strip().split("\n"):
        temperature, chlorine, *cells = (float(word) for word in line.split())
        for ph, printed in zip(PHS, cells, strict=True):
            yield temperature, chlorine, ph, printed


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we look up agrees with what was printed."""
    check.holds()


def test_all_588_cells_are_as_printed():
    """Each cell of the six tables is found at its headings, to the whole number."""
    cells = list(printed_cells())
    assert len(cells) == 588 == len(giardia_table().ct)
    wrong = [
        (t, c, ph)
        for t, c, ph, printed in cells
        if abs(table_entry("giardia", t, ph, c).ct - printed) > 0.5
    ]
    assert not wrong


def test_an_operator_page_is_wrong():
    """A page says 60 gives 3 logs at pH 7, 15 C; the table asks for 70 to 91, by chlorine."""
    row = [ct for t, _, ph, ct in printed_cells() if (t, ph) == (15, 7)]
    assert (min(row), max(row)) == (70, 91)
    assert giardia(15, 7, 0.1) > 60
