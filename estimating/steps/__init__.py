"""A job in the steps it is made in, from the boards to the parcel."""
