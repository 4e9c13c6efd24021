"""Pure judgement: compiled rules and a request in, an answer out."""
