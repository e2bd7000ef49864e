"""What people type about a job."""
