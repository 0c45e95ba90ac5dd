"""What every calculation of bolts says."""

CAUTION = (
    "Cap or guard upright bolt ends. Never slot, cut or force a casting, and never bend a bolt to fit: "
    "the base's eligibility letter and the engineer govern."
)
