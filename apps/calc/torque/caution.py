"""What is said wherever a nut is tightened."""

CAUTION = (
    "A bolt that lets go throws the wrench and the hand: pull steadily, stand clear of its path, no cheater bar. "
    "On a breakaway base the base maker's torque rules."
)
