"""The commands: data on stdout, words on stderr, documented exit codes, no Textual."""
