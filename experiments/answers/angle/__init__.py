"""What a hitter can play from one place."""
