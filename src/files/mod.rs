//! Files: atomic saving, backups, the autosaved copy, recent files. The only room below the shell that
//! touches the disk for a project.
