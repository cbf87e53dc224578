"""Ten invented pages, written out by hand, with their truth: small enough to check on paper."""

from __future__ import annotations

from checker import markup
from checker.problem.given import make_problem
from checker.training.students.circuits import Circuit, Shape, given, tree
from checker.training.students.record import StudentLine, StudentPage


def _page(
    number: int,
    title: str,
    shape: Shape,
    capacitors: str,
    supply: str,
    lines: str,
    first_slip: int | None = None,
    kind: str | None = None,
    find: tuple[str, ...] = ("equivalent capacitance", "charge", "voltage"),
) -> StudentPage:
    """``capacitors``: values of C1, C2, … separated by commas; a line after ``~`` is struck out."""
    data = {f"C{k}": given(text.strip()) for k, text in enumerate(capacitors.split(","), 1)}
    volts = given(supply)
    circuit = Circuit(tree(shape), data, volts, next(iter(data.values())).unit[:-1], find)
    texts = {name: datum.text for name, datum in data.items()}
    written = [line.strip() for line in lines.strip().splitlines()]
    return StudentPage(
        seed=-number,
        problem=make_problem(title, volts.text, circuit.network, texts, find),
        circuit=circuit,
        lines=tuple(
            StudentLine(text.lstrip("~"), markup.plain(text.lstrip("~")), text.startswith("~"))
            for text in written
        ),
        first_slip=first_slip,
        kind=kind,
        kinds_equal=frozenset({kind}) if kind else frozenset(),
    )


SAMPLES: tuple[StudentPage, ...] = (
    _page(
        1, "Three capacitors on 16 V", ("s", 1, ("p", 2, 3)), "6 µF, 3 µF, 7 µF", "16 V",
        """
        C_{23}=C_{2}+C_{3}=3+7=10µF
        {1}/{C_{eq}}={1}/{6}+{1}/{10}={16}/{60}
        C_{eq}={60}/{16}=3.75µF
        Q=C_{eq}V=3.75×16=60µC
        Q_{1}=Q_{23}=60µC
        V_{1}={60}/{6}=10V
        V_{23}=16-10=6V
        Q_{2}=3×6=18µC
        Q_{3}=7×6=42µC
        """,
    ),
    _page(
        2, "Three capacitors on 9 V", ("p", 1, ("s", 2, 3)), "4.7 µF, 6.8 µF, 2.2 µF", "9 V",
        """
        C_{2} and C_{3} in series
        ~C_{23}=6.8µF+2.2µF
        C_{23}={6.8µF·2.2µF}/{6.8µF+2.2µF}=1.66µF
        C_{T}=4.7µF+1.66µF=6.36µF
        V_{1}=V_{23}=9V
        Q_{1}=4.7µF·9V=42.3µC
        Q_{23}=1.66µF·9V=14.9µC
        Q_{2}=Q_{3}=14.9µC
        V_{2}={14.9µC}/{6.8µF}=2.19V
        V_{3}=9V-2.19V=6.81V
        """,
    ),
    _page(
        3, "Three capacitors on 20 V", ("p", ("s", 1, 2), 3), "3 µF, 15 µF, 8 µF", "20 V",
        """
        C_{12}=C_{1}+C_{2}
        =3+15=18µF
        C=C_{12}+C_{3}=18+8=26µF
        Q=CV=26×20=520µC
        V_{12}=V_{3}=20V
        Q_{3}=8×20=160µC
        Q_{12}=18×20=360µC
        Q_{1}=Q_{2}=360µC
        V_{1}={360}/{3}=120V
        V_{2}={360}/{15}=24V
        """,
        0, "series-combined-as-parallel",
    ),
    _page(
        4, "Four capacitors on 30 V", ("s", 1, 2, ("p", 3, 4)), "5 µF, 20 µF, 3 µF, 9 µF", "30 V",
        """
        parallel:C_{34}=3+9=12µF
        series:{1}/{C}={1}/{5}+{1}/{20}+{1}/{12}
        ={12+3+5}/{60}={20}/{60}
        so C=0.333µF
        Q=0.333×30=10.0µC
        Q same in series
        V_{1}={10.0}/{5}=2.00V
        V_{2}={10.0}/{20}=0.50V
        V_{34}={10.0}/{12}=0.833V
        """,
        3, "reciprocal-not-inverted",
    ),
    _page(
        5, "Four capacitors on 50 V", ("s", ("p", 1, 2), ("p", 3, 4)),
        "2.7 nF, 3.9 nF, 8.2 nF, 1.8 nF", "50 V",
        """
        C_{A}=2.7+3.9=6.6nF
        C_{B}=8.2+1.3=9.5nF
        C_{tot}={C_{A}C_{B}}/{C_{A}+C_{B}}={6.6×9.5}/{16.1}=3.89nF
        Q_{tot}=3.89×50=194.5nC
        V_{A}={194.5}/{6.6}=29.5V
        V_{B}=50-29.5=20.5V
        V_{1}=V_{2}=29.5V  V_{3}=V_{4}=20.5V
        Q_{1}=2.7×29.5=79.7nC
        Q_{2}=3.9×29.5=115nC
        Q_{3}=8.2×20.5=168nC
        """,
        1, "given-miscopied",
    ),
    _page(
        6, "Three capacitors on 15 V", ("p", 1, ("s", 2, 3)), "10 µF, 4 µF, 6 µF", "15 V",
        """
        C_{23}={4·6}/{4+6}={24}/{10}=2.4µF
        C_{eq}=10+2.4=12.4µF
        V_{1}=15V→Q_{1}=10·15=150µC
        V_{2}=15·{4}/{4+6}=6V
        V_{3}=15-6=9V
        Q_{2}=4·6=24µC
        Q_{3}=6·9=54µC
        """,
        3, "voltage-divided-the-wrong-way",
    ),
    _page(
        7, "Four capacitors on 40 V", ("s", 1, ("p", 2, ("s", 3, 4))),
        "12 µF, 5 µF, 6 µF, 3 µF", "40 V",
        """
        C_{34}={6×3}/{6+3}=2µF
        C_{234}=5+2=7µF
        C_{eq}={12×7}/{12+7}={84}/{19}=4.42µF
        Q=4.42×40=177µC
        V_{1}={177}/{12}=13.75V
        V_{234}=40-13.75=26.25V
        Q_{2}=5×26.25=131µC
        Q_{34}=2×26.25=52.5µC
        V_{3}={52.5}/{6}=8.75V
        V_{4}={52.5}/{3}=17.5V
        """,
        4, "arithmetic",
    ),
    _page(
        8, "Three capacitors on 60 V", ("p", ("s", 1, 2), 3), "220 pF, 330 pF, 100 pF", "60 V",
        """
        1/C_{12}=1/220+1/330=5/660
        C_{12}=132pF
        C=132+100=232pF
        Q=232pF×60V=139.2nC
        Q_{3}=100pF×60V=6nC
        Q_{12}=139.2-6=133.2nC
        V_{1}=133.2nC/220pF=605V
        """,
        3, "decimal-point",
    ),
    _page(
        9, "Three capacitors on 100 V", ("s", 1, ("p", 2, 3)), "10 µF, 4 µF, 11 µF", "100 V",
        """
        C_{p}=C_{2}∥C_{3}=4+11=15µF
        C={10·15}/{10+15}={150}/{25}=6µF
        Q=6·100=600µC
        V_{1}={600}/{10}=60V
        V_{p}=100-60=40V
        U=CV^{2}=6·100^{2}=60000µJ=60mJ
        U_{1}={1}/{2}·10·60^{2}=18mJ
        U_{2}={1}/{2}·4·40^{2}=3.2mJ
        """,
        5, "energy-half-missing",
        ("equivalent capacitance", "charge", "voltage", "energy"),
    ),
    _page(
        10, "Four capacitors on 36 V", ("s", 1, ("p", 2, 3), 4), "18 µF, 7 µF, 5 µF, 9 µF", "36 V",
        """
        C_{23}=7µF+5µF=12µF
        {1}/{C_{T}}={1}/{18}+{1}/{12}+{1}/{9}={2+3+4}/{36}={9}/{36}
        ⇒C_{T}=4µF
        Q_{T}=C_{T}V_{T}=4µF×36V=144µC
        Q_{1}=Q_{4}=Q_{23}=144µC
        V_{1}=144µC/18µF=8V
        V_{4}=144µC/9µF=16V
        V_{23}=36V-8V-16V=12V
        Q_{2}=Q_{3}=Q_{23}=144µC
        """,
        8, "charge-carried-into-parallel",
    ),
)  # fmt: skip
