"""Who plays where, on what, how deep and by which chance; people's files, own code and units."""
