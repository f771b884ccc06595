"""What is cut: a piece with its sums, the seams between widths, what washing and the pattern add."""
