"""What the estimator asked for: frozen, already valid, SI."""
