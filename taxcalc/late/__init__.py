"""Interest and penalties on what was not collected: a scenario of its own, asked for, and in no other figure."""
