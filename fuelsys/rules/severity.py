"""How bad a finding is: what the rules share to part a fail from a caution; the principle stands in DEVELOPERS.md."""

from __future__ import annotations

from fuelsys.model.found.findings import Source
from fuelsys.model.found.study import Study
from fuelsys.model.found.unusable import Unusable
from fuelsys.model.stated.standards import DAY_RESERVE_S

RESERVE = Source("14 CFR 91.151(a)(1): half an hour at cruise, the day reserve")
NEAR_S, _NEAR_SHARE, _MOST_NEAR_SHARE = 30.0, 0.05, 0.1  # chosen here, no source
NEAR_WORDS = "half a minute or 5 % of it (chosen here, no source; never above a tenth)"
HOT_K = 60.0  # above 15 °C: 75 °C, for fuel whose boiling is not known (kerosene); common practice, no source
HOT_WORDS = Source("fail where fuel of 15 °C so warmed boils at the ceiling (EPA AP-42, figure 7.1-14b); kerosene from 60 K on: common"
                   " practice, no source")  # fmt: skip
SPILT = Source(
    "fail where as much runs over as half an hour at cruise takes, the day reserve of 14 CFR 91.151(a)(1); less: a caution"
)
_TRIFLE_SHARE = 0.01  # chosen here, no source
SHUT_AIR_SHARE = 0.01
SHUT_AIR = Source(
    "air shut in: fail from 1 % of the tank on, half of the expansion space of 14 CFR 23.969, so that it may double (at half the pressure)"
    " and the fuel it pushes still finds room; less is a caution: chosen here, no source"
)

# What a pass that counts usable fuel, or minutes, is worth no more than.
_USABLE = ("unusable-large", "unusable-at-combined-attitudes", "cover-not-stated", "feed-in-doubt")
USABLE_RESTS_ON = (*_USABLE, "mesh-in-doubt")
MINUTES_REST_ON = (*_USABLE, "flow-shares-do-not-add-up", "mesh-in-doubt")

TRIFLE_S = 6.0  # a tenth of a minute, the last digit that minutes are told in
TRIFLES = Source(
    "trifles are told and pass: a vent under fuel that presses with 60 Pa at most while another stands in air or the fuel sinks from"
    " it, a tenth of a minute on a gauge and in a transfer line, half a minute on a stick: chosen here, no source"
)


def overheats(warmer_k: float, boils_k: float | None) -> bool:
    """Whether fuel that a return warms so much boils in the tank on a standard day, or is hotter than anybody counts on."""
    return warmer_k >= (HOT_K if boils_k is None else boils_k)


def reserve_m3(study: Study) -> float:
    """The fuel of half an hour at the flow that minutes are counted with, all of it."""
    return DAY_RESERVE_S * study.layout.design.reserve_flow_m3_s


def nearly_s(target_s: float) -> float:
    """By how much a promise of minutes may be missed and be a caution: below that, what is built decides.

    >>> [nearly_s(60.0 * target) for target in (1, 5, 10, 30)]
    [6.0, 30.0, 30.0, 90.0]
    """
    return min(max(NEAR_S, _NEAR_SHARE * target_s), _MOST_NEAR_SHARE * target_s)


def trifle_s(target_s: float) -> float:
    """By how much a promise of minutes may be missed and pass: a hundredth of it, and no more than is told of a time.

    >>> [trifle_s(60.0 * target) for target in (1, 15)]
    [0.6, 6.0]
    """
    return min(TRIFLE_S, _TRIFLE_SHARE * target_s)


def surely_unusable_m3(left: Unusable) -> float:
    """Unusable fuel without what is only assumed: covers that nobody stated, narrow gaps that may be open."""
    opened_m3 = left.opened.volume_m3 if left.opened else left.volume_m3
    return min(left.volume_m3, opened_m3, left.volume_m3 if left.uncovered_m3 is None else left.uncovered_m3)
