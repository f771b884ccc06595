"""What was ordered: the job, its fabrics, bolts and windows, trade defaults, what was measured since."""
