"""The world of a baseline rally: court, ball, flight, players, engines.

- `PLAYERS`, `player`: the levels as players, by name; one of them, with a hand.
- `Player`, `Legs`, `Hitter`: a player, and what legs and strokes can do.
- `player_parameters`: a player's values with unit, range, source and status.
- `World`, `Air`: everything around the players.
- `SURFACES`, `Surface`, `BALLS`, `Ball`: courts and balls by name, and their kinds.
- `Game`, `Side`, `Place`, `play`: two sides, where the first ball is struck, the strokes played.
- `RecoveryPolicy`, `Situation`, `PerRally`: what decides where to recover to, what it sees, and a
  plain function of one rally made into one.
- `ShotModel`, `ShotSituation`: what decides where to hit, and what it sees.
- `Belief`: what is believed of a hitter's directions.
- `InputError`: input that cannot be used; its message says what to do.
"""

from sim.public import fetcher

PROJECT = "rally-recovery"
_HOMES = {
    "Air": "air",
    "BALLS": "ball",
    "Ball": "ball",
    "Belief": "belief",
    "Game": "exchange",
    "Hitter": "hitter",
    "InputError": "errors",
    "Legs": "legs",
    "PLAYERS": "players",
    "PerRally": "contracts",
    "Place": "exchange",
    "Player": "players",
    "RecoveryPolicy": "contracts",
    "SURFACES": "surface",
    "ShotModel": "contracts",
    "ShotSituation": "contracts",
    "Side": "exchange",
    "Situation": "contracts",
    "Surface": "surface",
    "World": "world",
    "play": "array_engine",
    "player": "players",
    "player_parameters": "players",
}
__all__ = tuple(_HOMES)
__getattr__ = fetcher(__name__, _HOMES)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
