"""How long this hand takes for a change, learned from its own times: features, regression, predictions, words."""
