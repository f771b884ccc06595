"""The local page: a job is written, planned, compared and printed in a browser, with the same core."""
