"""Sound to text and text to sound. Knows nothing of belts or steps."""
