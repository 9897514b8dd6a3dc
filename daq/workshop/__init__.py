"""The folder of everything: jobs, calibrations and what the hand has learnt."""
