"""From causes to rounds of alterations, drawn into the pattern."""
