"""Two audits of the invented season: one of the first weeks, closed with its result, and one that is half answered."""

from datetime import datetime, timedelta
from functools import partial

from apps.audits import acts
from apps.audits.acts import Said
from apps.audits.frame import Lot
from apps.audits.models import Audit
from apps.audits.planning import Plan
from apps.audits.recomputed import Recomputed
from apps.audits.standing import Judged, standing
from apps.config.demo.season import Season

BEGIN, AGAIN = 14, 3
"""So many working days before the end the two are drawn."""
DARK = "The tape cannot be read: the photo was taken against the sun."


def plan_audits(season: Season) -> None:
    """Put both audits into a season's queue; nothing where it is too short for them."""
    if len(season.days) <= 2 * BEGIN:
        return
    first, second = season.days[-BEGIN], season.days[-AGAIN]
    early = Lot(until=season.days[-BEGIN - 3])
    season.later(season.at(first, 9.5), partial(_draw, season, "Record of the first weeks", early, "4162", 1.0))
    season.later(
        season.at(second, 10), partial(_draw, season, "Shafts and cages", Lot(("drill", "cage", "pour")), "3526", 0.5)
    )


def _draw(season: Season, title: str, lot: Lot, seed: str, share: float, at: datetime) -> None:
    """Draw an audit; answer a share of it two hours later, close it the day after when that is all."""
    answer = acts.draw_audit(
        corridor=season.corridor, title=title, lot=lot, strata="stage", plan=Plan(), seed=seed,
        by=season.scene.people["auditor"][0], at=at, client_id=season.new_id(),
    )  # fmt: skip
    season.later(at + timedelta(hours=2), partial(_answer, season, answer["audit"], share))
    if share == 1:
        season.later(at + timedelta(days=1), partial(_close, season, answer["audit"]))


def _audit(season: Season, number: int) -> Audit:
    return Audit.objects.select_related("corridor").get(corridor=season.corridor, number=number)


def _answer(season: Season, number: int, share: float, at: datetime) -> None:
    """Answer the first hold points as the record has them; the photos of the third cannot be read."""
    stands = standing(_audit(season, number))
    for each in stands.judged[: round(len(stands.judged) * share)]:
        asked = {line.question.key: line.question for line in each.lines}
        recomputed = acts.recomputed_for(each.drawn, asked, at)
        acts.answer_drawn(
            drawn=each.drawn, answers=_said(each, recomputed), seen=0, by=season.scene.people["auditor"][0], at=at,
            client_id=season.new_id(),
        )  # fmt: skip


def _said(judged: Judged, recomputed: dict[str, Recomputed]) -> dict[str, Said]:
    """Return the answers of an auditor who agrees with what was recomputed and likes all but one picture."""
    said = {}
    for line in judged.lines:
        found = recomputed.get(line.question.key, Recomputed("yes", ""))
        said[line.question.key] = Said(found.word, "" if found.word == "yes" else found.why)
    if judged.drawn.place == 3:
        said["photos_show"] = Said("no", DARK)
    return said


def _close(season: Season, number: int, at: datetime) -> None:
    acts.close_audit(
        audit=_audit(season, number), remarks="Photos are to be taken with the light from behind.",
        by=season.scene.people["auditor"][0], at=at, client_id=season.new_id(),
    )  # fmt: skip
