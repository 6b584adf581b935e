"""Chain against its open standard."""

from __future__ import annotations

from datetime import date

import pytest

from estimator.rates.read import load_rates
from estimator.takeoff.rigging import cut_length, links_to_hook_on

# Source: DIN 766 (January 1986), calibrated short link chain: nominal size to pitch and 11-link gauge [mm].
DIN_766 = {"6": (18.5, 203.5), "8": (24.0, 264.0), "10": (28.0, 308.0)}
# Source: DIN 763 (1 December 1990), long link: the same 10 mm has a pitch of 65 mm.
DIN_763 = {"6": (42, None), "10": (65, None)}


@pytest.mark.parametrize("size", DIN_766)
def test_default_chain_has_the_pitch_of_its_standard(size: str) -> None:
    book, problems = load_rates(None, date(2026, 4, 3))
    assert book is not None, problems
    chains = [p for p in book.rigging.values() if p.kind == "chain" and p.size == size]
    assert len(chains) == 1
    pitch, gauge = DIN_766[size]
    assert chains[0].pitch == pytest.approx(pitch / 1000)
    assert 11 * (chains[0].pitch or 0) == pytest.approx(gauge / 1000)
    assert pitch != DIN_763.get(size, (0, None))[0]


@pytest.mark.parametrize(("size", "row"), DIN_766.items())
def test_cut_length_is_whole_links(size: str, row: tuple[float, float]) -> None:
    # Source: assembled length of n links = n x pitch; the tail of 200 to 300 mm is common practice, no source.
    pitch = row[0] / 1000
    cut = cut_length(7 * pitch, 0.25, pitch)
    assert cut / pitch == pytest.approx(round(cut / pitch))
    assert 7 * pitch + 0.25 <= cut + 1e-9 < 7 * pitch + 0.25 + pitch


def test_eleven_links_that_just_fit_are_eleven() -> None:
    # Source: the 11-link gauge of DIN 766: float noise must not add a link.
    pitch = 0.0185
    assert cut_length(0.0, 11 * pitch, pitch) == pytest.approx(0.2035)
    assert links_to_hook_on(0.1, 0.3, pitch, 0.1 + 0.3 + 11 * pitch, 0.0, 3.0) == 11
