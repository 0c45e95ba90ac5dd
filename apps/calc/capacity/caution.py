"""What every answer about capacity says: it is a screen, and a licensed engineer decides."""

DECIDES = "A licensed engineer decides."
CAUTION = "A screen, no design: loads, map speed, soil and code belong to the engineer of record. A licensed engineer decides."
