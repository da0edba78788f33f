//! Recordings: session folders, foreign CSV files, and the store that holds patients.
