"""Job rotation: who holds which place when."""
