"""Pages of editions: what they say, what differs, drafting, trying, publishing, putting in force."""
