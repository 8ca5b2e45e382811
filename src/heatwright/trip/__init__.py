"""What happens to a car: trip files, speed schedules, weather and sun, made into a Case."""
