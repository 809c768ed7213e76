"""One question each, named as its command is: question, answer and picture."""
