"""Design: the least film that holds, with a proven bound and what stands in the way."""
