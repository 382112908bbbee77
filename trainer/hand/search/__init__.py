"""The fingering search: the best ways for a hand through a passage, over the whole of it. Pure; numpy allowed."""
