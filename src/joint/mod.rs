//! From sensor orientation to the joint angle: calibration, alignment, ISB angles.
