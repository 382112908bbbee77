"""One module for each sub-command; `trainer.cli` lists them."""
