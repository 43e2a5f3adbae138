"""Speed claims as ratios against a public library on the same work in one run."""
