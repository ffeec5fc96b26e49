"""The wiring room: netlists as data, the rules they keep, and what is drawn and computed from them."""
