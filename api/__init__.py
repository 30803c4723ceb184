"""The service: what a caller sees.  It reads questions, asks the model and writes replies."""
