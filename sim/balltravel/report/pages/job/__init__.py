"""One page for a job: what is recommended and all that it rests on."""
