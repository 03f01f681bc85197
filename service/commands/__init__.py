"""What each command of the command line does. Imported one by one: none pays for what another needs."""
