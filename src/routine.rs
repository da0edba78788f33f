//! The prescription: what is to be done, how often, how slowly, with what load and limits.
