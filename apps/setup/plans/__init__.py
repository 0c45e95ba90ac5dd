"""What the plans say, brought in on pages: alignments, typed or from a file, and designs of foundations."""
