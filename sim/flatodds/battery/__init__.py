"""Battery room: what a bank holds, accepts, delivers and loses in one hour."""
