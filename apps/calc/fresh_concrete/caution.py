"""What is said wherever concrete is wet."""

CAUTION = "Wet concrete burns skin and eyes: gloves, boots, glasses, and wash at once (warning carried by ASTM C94)."
