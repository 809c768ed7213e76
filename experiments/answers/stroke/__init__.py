"""Which own stroke buys the time to recover, and where to."""
