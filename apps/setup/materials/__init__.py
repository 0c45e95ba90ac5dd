"""The place Materials: what gates and readings rest on, and entering it."""
