"""What the meeting does with the morning sheet: steps through what is flagged, gives it to people, and reads its minutes."""
