"""Deciding under measurement uncertainty: uncertainty budgets, guard bands, risks, shares from samples, sampling plans, drawing.

Importing the room registers its calculations.
"""

from apps.calc.decision.budget import DIVISORS, Budget, uncertainty
from apps.calc.decision.drawing import Drawn, allocate, digest, draw, draw_strata, ticket
from apps.calc.decision.guard import GuardBand, guard_band
from apps.calc.decision.plans import LETTERS, LEVELS, LIMITS, LotPlan, Plan, plan, sampling_plan
from apps.calc.decision.probability import Conformity, conformity
from apps.calc.decision.risk import GlobalRisk, Prior, global_risk
from apps.calc.decision.sampling import Acceptance, acceptance_probability
from apps.calc.decision.shares import Interval, Share, share, share_interval
from apps.calc.decision.two_points import Risks, TwoPoints, risks, two_points

__all__ = [
    "DIVISORS",
    "LETTERS",
    "LEVELS",
    "LIMITS",
    "Acceptance",
    "Budget",
    "Conformity",
    "Drawn",
    "GlobalRisk",
    "GuardBand",
    "Interval",
    "LotPlan",
    "Plan",
    "Prior",
    "Risks",
    "Share",
    "TwoPoints",
    "acceptance_probability",
    "allocate",
    "conformity",
    "digest",
    "draw",
    "draw_strata",
    "global_risk",
    "guard_band",
    "plan",
    "risks",
    "sampling_plan",
    "share",
    "share_interval",
    "ticket",
    "two_points",
    "uncertainty",
]
