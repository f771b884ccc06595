"""Prices, fullness and percentages as people write them; what has two readings is refused with a remedy."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from nesting.errors import JobError
from nesting.files.reading import read_job_text


def job_text(*, units: str = "in", price: str = "38.50", fullness: str = "1.5", shrinkage: str = "3") -> str:
    return f"""
units = "{units}"
[fabric.face]
name = "Linen"
shrinkage = {{ length = {shrinkage}, width = 0 }}
[[fabric.face.bolt]]
width = 150
price = {price}
[[window]]
name = "East"
rod = 60
finished_length = 90
heading = "clip-ring"
fullness = {fullness}
"""


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("38.5", "38.5"),
        ('"24,90"', "24.90"),
        ('"$80"', "80"),
        ('"80 $"', "80"),
        ('"80/yd"', "80"),
        ('"$80 per yard"', "80"),
        ('"80 a yd"', "80"),
        ('"EUR 24.90"', "24.90"),
        ('"£0,125"', "0.125"),
    ],
)
def test_a_price_is_read_as_it_stands_on_a_label(typed: str, meant: str) -> None:
    job = read_job_text(job_text(price=typed))
    assert job.fabrics[0].bolts[0].price == Decimal(meant)


@pytest.mark.parametrize(
    ("units", "typed", "remedy"),
    [
        ("in", '"80/m"', "a price per yd, such as 38.50/yd"),
        ("cm", '"80/yd"', "a price per m, such as 38.50/m"),
        ("in", '"1,250"', "its comma may part thousands"),
        ("in", '"1.250,00"', "such as 38.50"),
        ("in", '"-5"', "0 or more"),
        ("in", '"$80 €"', "such as 38.50"),
        ("in", '"a80"', "such as 38.50"),
        ("in", '"1/2"', "such as 38.50"),
    ],
)
def test_a_price_with_two_readings_is_refused(units: str, typed: str, remedy: str) -> None:
    with pytest.raises(JobError) as refused:
        read_job_text(job_text(units=units, price=typed))
    (fault,) = refused.value.faults
    assert "price" in fault.place
    assert remedy in fault.expected


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("2", "2"),
        ('"2x"', "2"),
        ('"x 2"', "2"),
        ('"2 times"', "2"),
        ('"150 %"', "3/2"),
        ('"150%"', "3/2"),
        ('"1,5"', "3/2"),
        ('"2 1/2x"', "5/2"),
    ],
)
def test_fullness_is_read_as_makers_say_it(typed: str, meant: str) -> None:
    assert read_job_text(job_text(fullness=typed)).windows[0].fullness == Fraction(meant)


@pytest.mark.parametrize("typed", ['"250"', '"1,250"', '"x"', '"%"', '"15 %"', '"2xx"', '""'])
def test_a_fullness_that_nobody_means_is_refused(typed: str) -> None:
    with pytest.raises(JobError, match=r"from 1 up to 6.*such as 1\.5"):
        read_job_text(job_text(fullness=typed))


@pytest.mark.parametrize(("typed", "meant"), [("3", 3), ('"3 %"', 3), ('"2,5 percent"', Fraction(5, 2))])
def test_a_percentage_may_have_its_sign(typed: str, meant: Fraction) -> None:
    shrinkage = read_job_text(job_text(shrinkage=typed)).fabrics[0].shrinkage
    assert shrinkage is not None
    assert shrinkage.length == meant
    with pytest.raises(JobError, match="percent"):
        read_job_text(job_text(shrinkage='"3x"'))
