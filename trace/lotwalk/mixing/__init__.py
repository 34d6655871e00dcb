"""The mixing calculator: what a label's strength counts, how much makes a strength, and what can really be measured."""
