"""What is said wherever a strength opens a gate."""

CAUTION = (
    "An estimate: cylinders cured in the field, or a maturity curve proved for this mixture, decide when load may "
    "come. The engineer releases."
)
