"""Why did it wear like that: causes with their probability from all readings of a vehicle at once."""
