"""The steps of a job: each takes the workshop and what a person chose, and returns what came."""
