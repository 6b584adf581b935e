"""What would have to change for a wanted price: the margin, or one thing of the job."""
