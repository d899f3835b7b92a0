"""The parts of the bench screen; each draws one part of a `View` and knows nothing of the others."""
