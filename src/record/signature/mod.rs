//! Signatures over a record.
