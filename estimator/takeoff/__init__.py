"""From a job to quantities: one module a trade; `Line` is what they all give."""
