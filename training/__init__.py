"""Trains the reader of talk: the network whose parameters are in data/parameters/talk.reader."""
