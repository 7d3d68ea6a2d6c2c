"""What the truth is, worked out apart from the service: from the contract, by linear programs."""
