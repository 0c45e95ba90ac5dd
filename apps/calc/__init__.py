"""The calculations: plain numbers in stated units in, frozen results out. No Django here, and nothing of the other apps."""
