// The job's view.
