"""An invented mine that works shifts in a demonstration ledger, through commands."""
