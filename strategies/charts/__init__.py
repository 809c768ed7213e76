"""Charts of an opponent's strokes, made courtside, and the belief that follows from one."""
