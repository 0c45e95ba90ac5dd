"""The installation: its corridors and people. Administrators only; they are members of no corridor and write no records."""
