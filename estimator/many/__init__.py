"""Many jobs at once: what a folder holds, processes or machines to price it, the table of a run, going on with it."""
