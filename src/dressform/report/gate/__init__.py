"""A gate's verdict in the forms that CI systems read."""
