"""All pictures: axes in, artists out, in one quiet style; what is drawn comes as plain values."""
