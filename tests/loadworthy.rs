//! The program as its users meet it, and the rules that its structure keeps.

mod end_to_end;
