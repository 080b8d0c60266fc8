"""The procedure library: data files read, checked and matched to a rig."""
