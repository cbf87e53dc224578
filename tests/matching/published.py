"""Published worked examples, typed as lines: clean, and located when one value is altered.

The numbers are facts from the sources named; the lines are this project's own.  Values that the
books print are kept as printed, also where they are cut off (6.8 for 6.857) or carried rounded.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Published:
    source: str
    supply: str | None
    connection: str
    capacitors: dict[str, str]
    texts: tuple[str, ...]


EXAMPLES = (
    Published(
        "OpenStax, College Physics 2e, 19.6; University Physics 2, example 8.4",
        None,
        "series(C1,C2,C3)",
        {"C1": "1.000 µF", "C2": "5.000 µF", "C3": "8.000 µF"},
        (
            "1/C = 1/1.000 + 1/5.000 + 1/8.000 = 1.325 /µF\nC = 0.755 µF",
            "{1}/{C_{eq}}={1}/{1.000µF}+{1}/{5.000µF}+{1}/{8.000µF}={1.325}/{µF}\n"
            "C_{eq}={1}/{1.325}=0.755µF",
            "1/Cs = 1.325 µF^-1\nCs = 1/1.325 = 0.755 µF",
        ),
    ),
    Published(
        "OpenStax, College Physics 2e, 19.6; University Physics 2, example 8.6",
        None,
        "parallel(series(C1,C2),C3)",
        {"C1": "1.000 µF", "C2": "5.000 µF", "C3": "8.000 µF"},
        (
            "1/C12 = 1/1.000 + 1/5.000 = 1.200 /µF\nC12 = 0.833 µF\nC = 0.833 + 8.000 = 8.833 µF",
            "C_s = 1/1.2 = 0.833\nC_{tot}=C_s+C_3=0.833+8.000=8.833",
        ),
    ),
    Published(
        "OpenStax, University Physics 2, examples 8.7 and 8.8, energies 8.3",
        "12.0 V",
        "series(C1,parallel(C2,C3))",
        {"C1": "12.0 µF", "C2": "2.0 µF", "C3": "4.0 µF"},
        (
            "C23 = C2 + C3 = 2.0 µF + 4.0 µF = 6.0 µF\n"
            "1/C = 1/12.0 + 1/6.0\n"
            "C = 4.0 µF\n"
            "Q = Q1 = CV = (4.0 µF)(12.0 V) = 48.0 µC\n"
            "V1 = Q1/C1 = 48.0 µC/12.0 µF = 4.0 V\n"
            "V23 = V - V1 = 12.0 V - 4.0 V = 8.0 V\n"
            "V2 = V3 = 8.0 V\n"
            "Q2 = 16.0 µC\n"
            "Q3 = 32.0 µC\n"
            "U1 = ½C1V1² = ½(12.0 µF)(4.0 V)² = 96 µJ\n"
            "U2 = 64 µJ\n"
            "U3 = 130 µJ\n"
            "U = U1 + U2 + U3 = 96 + 64 + 130 = 0.29 mJ",
            "C'=2+4=6\n"
            "C''={12·6}/{12+6}=4\n"
            "Q=4×12=48\n"
            "V_{1}={48}/{12}=4  V_{2}=V_{3}=12-4=8\n"
            "Q_{2}=2×8=16\n"
            "Q_{3}=4×8=32\n"
            "W_{1}={1}/{2}·12·4^{2}=96µJ, W_{2}=64µJ, W_{3}=130µJ\n"
            "W = 0.29mJ",
        ),
    ),
    Published(
        "OpenStax, University Physics 2, check 8.3 (a)",
        "12.0 V",
        "series(C1,parallel(C2,C3))",
        {"C1": "1.0 pF", "C2": "2.0 pF", "C3": "4.0 pF"},
        (
            "C = 0.86 pF\nQ1 = 10 pC\nQ2 = 3.4 pC\nQ3 = 6.8 pC",
            "C=0.86pF\nQ1=0.86×12=10pC",
        ),
    ),
    Published(
        "OpenStax, University Physics 2, check 8.3 (b)",
        "12.0 V",
        "parallel(C1,series(C2,C3))",
        {"C1": "1.0 pF", "C2": "2.0 pF", "C3": "4.0 pF"},
        ("C = 2.3 pF\nQ1 = 12 pC\nQ2 = Q3 = 16 pC",),
    ),
    Published(
        "OpenStax, University Physics 2, check 8.3 (c)",
        "12.0 V",
        "series(parallel(C1,C2),parallel(C3,C4))",
        {"C1": "1 pF", "C2": "2 pF", "C3": "4 pF", "C4": "5 pF"},
        ("C = 2.3 pF\nQ1=9.0pC, Q2=18pC, Q3 = 12 pC, Q4 = 15 pC",),
    ),
    Published(
        "OpenStax, University Physics 2, problem of 8.2 (4.00 and 8.00 pF, 400 V)",
        "400 V",
        "series(C1,C2)",
        {"C1": "4.00 pF", "C2": "8.00 pF"},
        (
            "Q = 1.07 nC\nV1 = 267 V\nV2 = 133 V",
            "Q=1.07×10^-9 C\nV1=1.07/4.00=267 V\nV2=400-267=133",
        ),
    ),
    Published(
        "OpenStax, College Physics 2e and University Physics 2, problem (10, 2.5, 0.30 µF)",
        None,
        "series(parallel(C1,C2),C3)",
        {"C1": "10 µF", "C2": "2.5 µF", "C3": "0.30 µF"},
        (
            "C12 = 12.5 µF\nC=0.293 µF",
            "C = 0.29 µF",
        ),
    ),
    Published(
        "OpenStax, University Physics 2, problem of 8.2; College Physics 2e, 19.6 (5.00, 8.00 µF)",
        None,
        "series(C1,C2)",
        {"C1": "5.00 µF", "C2": "8.00 µF"},
        (
            "C = 3.08 µF",
            "C = 5.00×8.00/(5.00+8.00) = 40/13 = 3.08",
        ),
    ),
    Published(
        "OpenStax, College Physics 2e, problem of 19.6 (0.30, 10, 2.5 µF)",
        None,
        "parallel(series(C1,C2),C3)",
        {"C1": "0.30 µF", "C2": "10 µF", "C3": "2.5 µF"},
        (
            "C = 2.79 µF",
            "C12 = 0.291\nC=0.291+2.5=2.79",
        ),
    ),
    Published(
        "OpenStax, College Physics 2e, problem of 19.7, in series",
        "9.00 V",
        "series(C1,C2)",
        {"C1": "2.00 µF", "C2": "7.40 µF"},
        (
            "Q = 1.42×10^-5 C\nU = 6.38×10^{-5} J",
            "Q = 1.42e-5 C\nU=½QV=½(1.42×10⁻⁵)(9.00)=6.38×10⁻⁵",
        ),
    ),
    Published(
        "OpenStax, College Physics 2e, problem of 19.7, in parallel",
        "9.00 V",
        "parallel(C1,C2)",
        {"C1": "2.00 µF", "C2": "7.40 µF"},
        (
            "Q = 8.46×10^-5 C\nU = 3.81×10^{-4} J",
            "C=9.4\nQ=9.4×9=84.6\nU=½×9.4×9²=381",
        ),
    ),
    Published(
        "OpenStax, University Physics 2, problem of three 1.0 µF",
        None,
        "series(C1,C2,C3)",
        {"C1": "1 µF", "C2": "1 µF", "C3": "1 µF"},
        (
            "C=0.33µF",
            "C = 1/3 µF",
        ),
    ),
    Published(
        "Bird, Electrical Circuit Theory and Technology, ch. 6 ex. 12",
        "100 V",
        "parallel(C1,C2,C3,C4)",
        {"C1": "1 µF", "C2": "3 µF", "C3": "5 µF", "C4": "6 µF"},
        (
            "C=15 µF\nQ=1.5 mC\nQ1=0.1 mC, Q2=0.3 mC, Q3=0.5 mC, Q4=0.6 mC",
            "Ct=1+3+5+6=15\nQt=15×100=1500 µC\nQ1 = 100\nQ2 = 300",
        ),
    ),
    Published(
        "Bird, Electrical Circuit Theory and Technology, ch. 6 ex. 13",
        "350 V",
        "series(C1,C2,C3)",
        {"C1": "3 µF", "C2": "6 µF", "C3": "12 µF"},
        (
            "1/C=1/3+1/6+1/12=(4+2+1)/12=7/12\n"
            "C=12/7=1.714 µF\n"
            "Q = 0.6 mC\n"
            "V1=200 V\n"
            "V2=100 V\n"
            "V3=50 V",
            "C = 1.714\nQ=1.714×350=600\nV1=600/3=200  V2=600/6=100  V3=600/12=50",
        ),
    ),
    Published(
        "Robertson, Fundamental Electrical and Electronic Principles, 3.10",
        "150 V",
        "series(C1,C2)",
        {"C1": "6 µF", "C2": "4 µF"},
        (
            "C=2.4µF\nQ=360µC\nV1=60V V2=90V",
            "C=6*4/(6+4)=24/10=2.4\nQ=2.4*150=360\nV1=150*4/10=60\nV2=150*6/10=90",
        ),
    ),
    Published(
        "Robertson, Fundamental Electrical and Electronic Principles, 3.11",
        "400 V",
        "series(C1,C2,C3)",
        {"C1": "3 µF", "C2": "6 µF", "C3": "12 µF"},
        (
            "V1=228.6 V\nV2=114.3 V\nV3=57.1 V",
            "Q = 685.7 µC\nV1=685.7/3=228.6\nV2=685.7/6=114.3\nV3 = 400 - 228.6 - 114.3 = 57.1",
        ),
    ),
    Published(
        "Serway and Faughn, example 16.5",
        "18 V",
        "parallel(C1,C2,C3,C4)",
        {"C1": "3 µF", "C2": "6 µF", "C3": "12 µF", "C4": "24 µF"},
        (
            "C=45 µF\nQ3=216 µC",
            "Ceq = 3 + 6 + 12 + 24 = 45 µF\nQ3 = 12 × 18 = 216 µC",
        ),
    ),
    Published(
        "Serway and Faughn, example 16.6",
        "18 V",
        "series(C1,C2,C3,C4)",
        {"C1": "3 µF", "C2": "6 µF", "C3": "12 µF", "C4": "24 µF"},
        (
            "C=1.60 µF\nQ=28.8 µC",
            "1/C=0.3333+0.1667+0.08333+0.04167=0.625\nC=1.6\nQ=28.8",
        ),
    ),
    Published(
        "Kulshreshtha, 3.4",
        "220 V",
        "series(C1,C2,C3,C4)",
        {"C1": "0.05 µF", "C2": "0.10 µF", "C3": "0.20 µF", "C4": "0.05 µF"},
        (
            "C = 0.0182 µF\nV1=80 V\nV2=40V\nV3=20 V\nV4=80V",
            "1/C=20+10+5+20=55\nC=1/55=0.0182\nQ=4 µC\nV1=4/0.05=80\nV2=4/.1=40\nV3=4/.2=20",
        ),
    ),
    Published(
        "Kulshreshtha, 3.6",
        "300 V",
        "series(C1,C2)",
        {"C1": "2 µF", "C2": "8 µF"},
        (
            "Q=480 µC\nV1=240 V, V2=60 V\nU1=57.6 mJ\nU2=14.4 mJ",
            "Q1=Q2=1.6×300=480\nV1=480/2=240\nV2=480/8=60\nE1=½×2×240²=57600 µJ\nE2 = 14400 µJ",
        ),
    ),
    Published(
        "Mehta, 4.22",
        "500 V",
        "parallel(series(C1,C2,C3),C4)",
        {"C1": "10 µF", "C2": "10 µF", "C3": "10 µF", "C4": "10 µF"},
        (
            "C=13.3 µF\nQ4=5.0 mC\nQ1=1.667 mC",
            "C123=10/3=3.33\nC=3.33+10=13.3\nQ4=10×500=5000\nQ123=3.33×500=1667",
        ),
    ),
    Published(
        "Beiser, 11.8",
        None,
        "series(C1,C2,C3)",
        {"C1": "1 µF", "C2": "2 µF", "C3": "3 µF"},
        (
            "C=0.545 µF",
            "1/C=1+1/2+1/3=11/6\nC=6/11=.545",
        ),
    ),
    Published(
        "Robertson, Fundamental Electrical and Electronic Principles, 3.9",
        None,
        "parallel(C1,C2,C3)",
        {"C1": "4.7 µF", "C2": "3.9 µF", "C3": "2.2 µF"},
        (
            "C=10.8 µF",
            "C=4.7+3.9+2.2=10.8",
        ),
    ),
    Published(
        "OpenStax, College Physics 2e, 19.6; University Physics 2, example 8.5",
        None,
        "parallel(C1,C2,C3)",
        {"C1": "1.000 µF", "C2": "5.000 µF", "C3": "8.000 µF"},
        (
            "Cp = C1 + C2 + C3 = 1.000 µF + 5.000 µF + 8.000 µF = 14.000 µF",
            "C_{T}=1.000+5.000+8.000\n=14.000",
        ),
    ),
    Published(
        "OpenStax, College Physics 2e and University Physics 2, problem (5.00, 8.00 µF), parallel",
        None,
        "parallel(C1,C2)",
        {"C1": "5.00 µF", "C2": "8.00 µF"},
        (
            "C = 13.0 µF",
            "C_{eq}=C_{1}+C_{2}=5.00+8.00=13.0",
        ),
    ),
    Published(
        "OpenStax, University Physics 2, problem of 8.2: 2.0 and 4.0 µF, like plates joined, 444 V",
        "444 V",
        "parallel(C1,C2)",
        {"C1": "2.0 µF", "C2": "4.0 µF"},
        (
            "V1 = V2 = 444 V\nQ1 = 0.89 mC\nQ2 = 1.78 mC",
            "q_{1}=2.0×10^{-6}·444=0.89×10^{-3}C\nq_{2}=4.0×10^{-6}·444=1.78×10^{-3}C",
        ),
    ),
    Published(
        "OpenStax, University Physics 2, problem of three 1.0 µF, in parallel",
        None,
        "parallel(C1,C2,C3)",
        {"C1": "1.0 µF", "C2": "1.0 µF", "C3": "1.0 µF"},
        (
            "C = 3.0 µF",
            "C_max = 3·1.0 = 3.0",
        ),
    ),
    Published(
        "OpenStax, College Physics 2e, problem of 19.7: 10.0 µF at 9.00 kV",
        "9.00 kV",
        "C1",
        {"C1": "10.0 µF"},
        (
            "U = ½CV² = 405 J\nQ = 90.0 mC",
            "Q=(10.0×10^-6)(9.00×10^3)=90.0×10^-3 C\nU=½(10.0×10^-6)(9.00×10^3)^2=405 J",
        ),
    ),
    Published(
        "OpenStax, College Physics 2e, problem of 19.7: 165 µF at 119 V",
        "119 V",
        "C1",
        {"C1": "165 µF"},
        (
            "E = 1.17 J",
            "W={1}/{2}CV^{2}={1}/{2}(165×10^{-6})(119)^{2}=1.17J",
        ),
    ),
    Published(
        "Bird, Electrical Circuit Theory and Technology, ch. 6 ex. 10, in parallel",
        None,
        "parallel(C1,C2)",
        {"C1": "6 µF", "C2": "4 µF"},
        (
            "C = C1 + C2 = 6 + 4 = 10 µF",
            "C1 ∥ C2 = 10 µF",
        ),
    ),
    Published(
        "Bird, Electrical Circuit Theory and Technology, ch. 6 ex. 10, in series",
        None,
        "series(C1,C2)",
        {"C1": "6 µF", "C2": "4 µF"},
        (
            "C = 6×4/(6+4) = 24/10 = 2.4 µF",
            "1/C = 1/6 + 1/4 = 5/12\nC = 12/5 = 2.4 µF",
        ),
    ),
    Published(
        "Bird, Electrical Circuit Theory and Technology, ch. 6 ex. 11, with its answer as given",
        None,
        "series(C1,C2)",
        {"C1": "30 µF", "C2": "20 µF"},
        (
            "1/C = 1/30 + 1/20 = (2+3)/60 = 1/12\nC = 12 µF",
            "C_{eq}={30·20}/{30+20}=12µF",
        ),
    ),
    Published(
        "Robertson, Fundamental Electrical and Electronic Principles, 3.16, before sharing",
        "250 V",
        "C1",
        {"C1": "3 µF"},
        (
            "Q1 = C1V = 0.75 mC\nW1 = 93.75 mJ",
            "Q=3×10^-6×250=0.75×10^-3 C\nW=½×3×10^-6×250²=93.75×10^-3 J",
        ),
    ),
    Published(
        "Robertson, Fundamental Electrical and Electronic Principles, 3.16, after sharing",
        "83.3333333333 V",
        "parallel(C1,C2)",
        {"C1": "3 µF", "C2": "6 µF"},
        (
            "C = 9 µF\nV = 83.33 V\nW = 31.25 mJ",
            "C = 3 + 6 = 9\nQ = 0.75 mC\nV = Q/C = 0.75/9 = 83.33 V\nW=½QV=31.25 mJ",
        ),
    ),
    Published(
        "Kulshreshtha, 3.5: 400 and 200 µC brought together on 2 and 10 µF",
        "50 V",
        "parallel(C1,C2)",
        {"C1": "2 µF", "C2": "10 µF"},
        (
            "C = 2 + 10 = 12 µF\nQ = 400 + 200 = 600 µC\nV = 600/12 = 50 V",
            "C_{T}=12µF\nV={600µC}/{12µF}=50V",
        ),
    ),
    Published(
        "Mehta, 4.15",
        None,
        "parallel(C1,series(C2,C3,C4))",
        {"C1": "3 µF", "C2": "9 µF", "C3": "9 µF", "C4": "9 µF"},
        (
            "C234 = 9/3 = 3 µF\nC = 3 + 3 = 6.0 µF",
            "1/C' = 1/9 + 1/9 + 1/9 = 1/3 → C' = 3\nCeq = C1 + C' = 6.0",
        ),
    ),
    Published(
        "Beiser, 11.9",
        None,
        "series(C1,C2)",
        {"C1": "2 µF", "C2": "3 µF"},
        (
            "C = 6/5 = 1.2 µF",
            "C^{-1}={1}/{2}+{1}/{3}={5}/{6}\nC=1.2µF",
        ),
    ),
)

# Published with these, but no task for this program: an unknown capacitance asked for from the
# whole (Bird ex. 11, above with its answer as given) or from an energy and a voltage (College
# Physics 2e, 19.7: 400 J at 10 kV; 40.0 J in 8.00 µF), charge shared between capacitors without a
# supply (above with the final voltage as the supply), and 500 capacitors in one bank.  Rows for
# resistors are another quantity's.
