"""What README claims: each claim with its value, interval, folder and command."""
