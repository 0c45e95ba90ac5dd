"""What every calculation along an alignment says."""

SURVEY_CAUTION = (
    "Work near traffic only inside the traffic control plan, in high-visibility clothing. "
    "Control and stakes are the licensed surveyor's; this checks them."
)
