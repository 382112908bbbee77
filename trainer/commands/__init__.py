"""A module or a package for each sub-command, which `trainer.cli` lists, and beside them what several share."""
