//! Layered optics: Fresnel interfaces, Kubelka-Munk layers, stacks, inversion and design.
