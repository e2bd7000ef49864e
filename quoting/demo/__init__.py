"""The demo workshop: all of it invented, all of it entered through the services that a person's clicks use."""
