"""Points, fit, edges and posts: floats in SI; knows no job, rate or money."""
