"""What is written down: plain values and the rules that they keep."""
