"""The bench day: start sheet, samples, portions, runs, second keying, import, hand-over."""
