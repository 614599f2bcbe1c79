//! The sorts of parts and their keys.

use densepath_fluid::Quantity;

use super::Table;
use crate::method::reader::{Field, Holds};

/// The words for the sorts of parts.
pub const KINDS: &[&str] = &[
    "cylinder",
    "suction_line",
    "reciprocating_pump",
    "syringe_pump",
    "modifier_pump",
    "tube",
    "mixer",
    "injector",
    "packed_column",
    "open_tubular_column",
    "detector_cell",
    "linear_restrictor",
    "tapered_restrictor",
    "segmented_restrictor",
    "orifice_restrictor",
    "crimped_restrictor",
    "frit_restrictor",
    "back_pressure_regulator",
    "gas_detector",
    "vent",
];

/// Words for the end of a cylinder that the fluid is drawn from.
pub const WITHDRAWAL: &[&str] = &["liquid", "vapour"];
/// Words for where a set volume flow is counted.
pub const COUNTED_AT: &[&str] = &["suction", "delivery", "oven", "normal"];
/// Words for where the set volume flow of a modifier is counted.
pub const MODIFIER_COUNTED_AT: &[&str] = &["suction", "delivery"];
/// Words for the law of the pressure drop of a bed.
pub const BED: &[&str] = &["ergun", "kozeny_carman", "measured"];
/// Words for the law of the plate height of a packed column.
pub const PLATE_HEIGHT: &[&str] = &["knox", "van_deemter", "power", "coupled"];
/// Words for where a vent ends.
pub const LEADS_TO: &[&str] = &["outdoors", "room"];

const fn measure(key: &'static str, quantity: Quantity, meaning: &'static str) -> Field {
    Field::required(key, Holds::Measure(quantity), meaning)
}

const fn optional(key: &'static str, quantity: Quantity, meaning: &'static str) -> Field {
    Field::optional(key, Holds::Measure(quantity), meaning)
}

const WALL_TEMPERATURE: Field = optional(
    "wall_temperature",
    Quantity::Temperature,
    "temperature of the wall, which the fluid takes on; without it no heat is exchanged",
);

const WALL_CONDUCTANCE: Field = optional(
    "wall_conductance",
    Quantity::ThermalConductivity,
    "heat conductance of the wall per length; with it the fluid does not take on the temperature of the wall at once",
);

const LEAK_FRACTION: Field = optional(
    "leak_fraction",
    Quantity::MassFraction,
    "share of the mass flow lost; 0 if not stated",
);

const ISOTHERMAL_SHARE: Field = optional(
    "isothermal_share",
    Quantity::Ratio,
    "stroke between isothermal (1) and isentropic (0); 1 if not stated",
);

const HEADS: Field = Field::optional(
    "heads",
    Holds::Whole,
    "number of heads that deliver one after the other; needs `swept_volume`",
);

const SWEPT_VOLUME: Field = optional(
    "swept_volume",
    Quantity::Volume,
    "volume that each head sweeps in one stroke; needs `heads`",
);

const CLEARANCE_VOLUME: Field = optional(
    "clearance_volume",
    Quantity::Volume,
    "volume that the piston never sweeps, not larger than `swept_volume`; in place of `clearance_ratio`",
);

const RELAXATION_TIME: Field = optional(
    "relaxation_time",
    Quantity::Time,
    "time constant in which the fluid takes on the temperature of the head, needs `heads`; in place of `isothermal_share`",
);

const MECHANICAL_EFFICIENCY: Field = optional(
    "mechanical_efficiency",
    Quantity::Ratio,
    "work on the fluid over that of the piston, the rest is friction that heats the head; 1 if not stated",
);

const CLEARANCE_RATIO: Field = optional(
    "clearance_ratio",
    Quantity::ClearanceRatio,
    "volume never swept over volume swept, 1 at most; 0 if not stated",
);

const SET_MASS: Field = optional("mass_flow_rate", Quantity::MassFlowRate, "set flow by mass");

const SET_VOLUME: Field = optional(
    "volume_flow_rate",
    Quantity::VolumeFlowRate,
    "set flow by volume; needs `counted_at`",
);

const HEAD_TEMPERATURE: Field = measure(
    "head_temperature",
    Quantity::Temperature,
    "temperature of the head",
);

const PRESSURE_LIMIT: Field = optional(
    "pressure_limit",
    Quantity::Pressure,
    "highest pressure that the part may see",
);

const VARIANCE_DIVISOR: Field = optional(
    "variance_divisor",
    Quantity::Ratio,
    "divisor K of the variance V^2/K: 12 for a plug, 1 for a mixed volume, between for real ones; 12 if not stated",
);

/// Words for how a restrictor exchanges heat.
pub const HEAT: &[&str] = &["isothermal", "wall", "adiabatic", "jacket"];
/// Names of the detectors that look at the dense mobile phase.
pub const DENSE_DETECTOR: &[&str] = &[
    "refractive index",
    "ultraviolet, fixed wavelength",
    "ultraviolet, variable wavelength",
    "diode array",
    "conductivity",
    "electrochemical",
    "fluorescence",
];
/// Words for the sorts of detectors for gas.
pub const DETECTOR: &[&str] = &[
    "flame_ionisation",
    "nitrogen_phosphorus",
    "flame_photometric",
    "sulfur_chemiluminescence",
    "electron_capture",
    "ion_mobility",
    "photoionisation",
    "thermal_conductivity",
    "electron_ionisation_mass_spectrometry",
    "atmospheric_pressure_mass_spectrometry",
    "evaporative_light_scattering",
    "charged_aerosol",
];

const OWN_TEMPERATURE: Field = optional(
    "temperature",
    Quantity::Temperature,
    "temperature it is heated to; that of the fluid that enters if not stated",
);

const CALIBRATION_FACTOR: Field = optional(
    "calibration_factor",
    Quantity::Ratio,
    "mass flow measured over calculated; 1 if not stated",
);

const WALL_ROUGHNESS: Field = optional(
    "roughness",
    Quantity::Roughness,
    "roughness of the wall; smooth if not stated",
);

const HEAT_KEY: Field = Field::optional(
    "heat",
    Holds::Word(HEAT),
    "how heat comes in: \"isothermal\" keeps one temperature, \"wall\" gives the fluid the temperatures of the wall, \"adiabatic\" none, \
     \"jacket\" through film and wall from surroundings of the temperatures; \"isothermal\" if not stated",
);

const OUTLET_TEMPERATURE: Field = optional(
    "outlet_temperature",
    Quantity::Temperature,
    "temperature of wall or surroundings at the outlet, linear from `temperature` at the inlet; the same if not stated",
);

const OUTER_DIAMETER: Field = optional(
    "outer_diameter",
    Quantity::Diameter,
    "outer diameter of the tube, for \"jacket\"",
);

const WALL_CONDUCTIVITY: Field = optional(
    "wall_conductivity",
    Quantity::ThermalConductivity,
    "thermal conductivity of the wall, for \"jacket\": fused silica 1.4 W/(m K), steel 16 W/(m K)",
);

const OUTSIDE_COEFFICIENT: Field = optional(
    "outside_coefficient",
    Quantity::HeatTransferCoefficient,
    "heat transfer from the surroundings, for \"jacket\": air 10 W/(m2 K), oven 50, metal block 1000 (common practice)",
);

const CONDUCTS_ALONG_WALL: Field = Field::optional(
    "conducts_along_wall",
    Holds::Boolean,
    "whether heat flows along the wall too, for \"jacket\": wall and fluid are solved together; false if not stated",
);

/// Keys of one stretch of a restrictor.
pub const STRETCH: &[Field] = &[
    measure("length", Quantity::Length, "length of the stretch"),
    measure("inlet_diameter", Quantity::Diameter, "bore at its inlet"),
    optional(
        "outlet_diameter",
        Quantity::Diameter,
        "bore at its outlet; that of its inlet if not stated",
    ),
];

/// The keys of a kind of part, beside those that every part has.
pub fn fields_of(kind: &str) -> &'static [Field] {
    let table = PARTS.iter().find(|table| table.heading == kind);
    table.map_or(&[], |table| table.fields)
}

/// Every sort of part.
pub const PARTS: &[Table] = &[
    Table {
        heading: "cylinder",
        meaning: "the supply; the first part",
        fields: &[
            measure("volume", Quantity::Volume, "volume inside"),
            measure("mass", Quantity::Mass, "mass of the fluid in it"),
            measure(
                "temperature",
                Quantity::Temperature,
                "temperature it stands at",
            ),
            Field::optional(
                "withdrawal",
                Holds::Word(WITHDRAWAL),
                "liquid through a dip tube, or vapour from the top; liquid if not stated",
            ),
            Field::optional(
                "helium_padded",
                Holds::Boolean,
                "whether helium presses the liquid out: a caution, nothing is computed from it; false if not stated",
            ),
            Field::optional(
                "allow_liquid_full",
                Holds::Boolean,
                "whether it is known and meant that the content leaves no vapour space at this temperature; without it such a cylinder is \
                 refused (error 506), with it the cautions stay; false if not stated",
            ),
        ],
    },
    Table {
        heading: "suction_line",
        meaning: "the line from the cylinder to the pump; the second part",
        fields: &[
            measure(
                "pressure_drop",
                Quantity::PressureDrop,
                "what tube and inlet valve take together",
            ),
            optional(
                "filter_pressure_drop",
                Quantity::PressureDrop,
                "what a filter takes beside; 0 if not stated",
            ),
            optional(
                "purifier_pressure_drop",
                Quantity::PressureDrop,
                "what a purifier takes beside; 0 if not stated",
            ),
            optional(
                "height",
                Quantity::Length,
                "height of the pump above the outlet of the cylinder, negative below; 0 if not stated",
            ),
            optional(
                "accelerated_length",
                Quantity::Length,
                "length of the line in which the liquid follows the piston",
            ),
            optional(
                "acceleration",
                Quantity::Acceleration,
                "largest acceleration of the liquid in the line: that of the piston times its cross-section over that of the line",
            ),
        ],
    },
    Table {
        heading: "reciprocating_pump",
        meaning: "a chilled piston pump that delivers a set flow; the third part",
        fields: &[
            HEAD_TEMPERATURE,
            SET_VOLUME,
            Field::optional(
                "counted_at",
                Holds::Word(COUNTED_AT),
                "where the volume is counted: \"delivery\" (pump pressure, head temperature), \"suction\" (feed pressure, head \
                 temperature), \"oven\" (column inlet), \"normal\" (0 degC, 1 atm gas)",
            ),
            SET_MASS,
            HEADS,
            SWEPT_VOLUME,
            CLEARANCE_VOLUME,
            CLEARANCE_RATIO,
            RELAXATION_TIME,
            ISOTHERMAL_SHARE,
            MECHANICAL_EFFICIENCY,
            LEAK_FRACTION,
            PRESSURE_LIMIT,
        ],
    },
    Table {
        heading: "syringe_pump",
        meaning: "a pump that holds a pressure from one filling of its barrel; the third part",
        fields: &[
            measure("barrel_volume", Quantity::Volume, "volume of the barrel"),
            measure(
                "barrel_temperature",
                Quantity::Temperature,
                "temperature of the barrel",
            ),
            measure("pressure", Quantity::Pressure, "pressure held"),
            optional(
                "reserve_fraction",
                Quantity::VolumeFraction,
                "share of the barrel that is never emptied; 0 if not stated",
            ),
            optional(
                "largest_displacement",
                Quantity::VolumeFlowRate,
                "largest volume flow that the piston displaces; a program that asks for more of a full barrel is refused",
            ),
            PRESSURE_LIMIT,
        ],
    },
    Table {
        heading: "modifier_pump",
        meaning: "a piston pump that joins the stream with a liquid from a reservoir at the temperature and the pressure of the \
                  room; before mixer, injector and column, or behind the last column and in a branch as the pump of a make-up",
        fields: &[
            Field::required(
                "fluid",
                Holds::Fluid,
                "what it pumps: a substance such as \"methanol\", or a mixture",
            ),
            Field::optional(
                "additive",
                Holds::Text,
                "what is dissolved in it, such as \"ammonium formate\", left out of composition and density; detectors count its \
                 ultraviolet cut-off",
            ),
            optional(
                "additive_concentration",
                Quantity::MolarDensity,
                "its concentration where the liquid is drawn; needed with `additive`",
            ),
            optional(
                "additive_molar_mass",
                Quantity::MolarMass,
                "its molar mass, if what it leaves behind where all else evaporates is to be told",
            ),
            HEAD_TEMPERATURE,
            SET_VOLUME,
            Field::optional(
                "counted_at",
                Holds::Word(MODIFIER_COUNTED_AT),
                "where the volume is counted, at the temperature of the head: \"delivery\" at the pressure of the stream, \
                 \"suction\" as the piston sweeps it at the pressure of the room, less what the clearance holds back",
            ),
            SET_MASS,
            HEADS,
            SWEPT_VOLUME,
            CLEARANCE_VOLUME,
            CLEARANCE_RATIO,
            RELAXATION_TIME,
            ISOTHERMAL_SHARE,
            MECHANICAL_EFFICIENCY,
            LEAK_FRACTION,
            PRESSURE_LIMIT,
        ],
    },
    Table {
        heading: "tube",
        meaning: "a straight connecting tube",
        fields: &[
            measure("diameter", Quantity::Diameter, "inner diameter"),
            measure("length", Quantity::Length, "length"),
            optional(
                "roughness",
                Quantity::Roughness,
                "roughness of the wall; 1 um if not stated, as drawn steel has (common practice)",
            ),
            optional(
                "loss_coefficient",
                Quantity::Ratio,
                "sum of the loss coefficients of fittings and bends; 0 if not stated",
            ),
            optional(
                "coil_diameter",
                Quantity::Diameter,
                "diameter of the coils it is wound to; straight if not stated",
            ),
            optional(
                "volume_variance",
                Quantity::VolumeVariance,
                "what it does to a band, fittings and all, as measured; replaces every estimate",
            ),
            WALL_TEMPERATURE,
            WALL_CONDUCTANCE,
        ],
    },
    Table {
        heading: "mixer",
        meaning: "a volume with a resistance",
        fields: &[
            measure("volume", Quantity::Volume, "volume inside"),
            measure(
                "pressure_drop",
                Quantity::PressureDrop,
                "pressure drop, from its data or measured",
            ),
            WALL_TEMPERATURE,
        ],
    },
    Table {
        heading: "injector",
        meaning: "an injection valve with a loop; the band begins here",
        fields: &[
            measure("loop_volume", Quantity::Volume, "volume of the loop"),
            measure(
                "drawn_volume",
                Quantity::Volume,
                "volume of sample drawn into it; at most the loop is injected",
            ),
            optional(
                "open_time",
                Quantity::Time,
                "time after which the valve turns back: a timed split",
            ),
            optional(
                "split_ratio",
                Quantity::Ratio,
                "flow to the vent over flow to the column behind the valve; 0 if not stated",
            ),
            VARIANCE_DIVISOR,
            Field::optional(
                "solvent",
                Holds::Fluid,
                "what the sample is dissolved in: whether the plug stays one phase with the mobile phase is then told",
            ),
        ],
    },
    Table {
        heading: "packed_column",
        meaning: "a column packed with particles",
        fields: &[
            measure("diameter", Quantity::Diameter, "inner diameter"),
            measure("length", Quantity::Length, "length of the bed"),
            measure(
                "particle_diameter",
                Quantity::ParticleDiameter,
                "diameter of the particles",
            ),
            measure(
                "interparticle_porosity",
                Quantity::InterparticlePorosity,
                "share of the volume between the particles",
            ),
            measure(
                "total_porosity",
                Quantity::TotalPorosity,
                "share of the volume that the mobile phase fills",
            ),
            Field::optional(
                "bed",
                Holds::Word(BED),
                "law of the pressure drop: with inertia, without, or a measured permeability; \"ergun\" if not stated",
            ),
            optional(
                "viscous_constant",
                Quantity::Ratio,
                "constant of the viscous term of the law, 150 to 270; 180 if not stated",
            ),
            optional(
                "permeability",
                Quantity::Permeability,
                "permeability to the superficial velocity, where the bed is \"measured\"",
            ),
            Field::optional(
                "plate_height",
                Holds::Word(PLATE_HEIGHT),
                "law of the local plate height: reduced h = A v^(1/3) + B/v + C v, H = A + B/u + C u, reduced h = A v^n + B/v + C v, or \
                 reduced h = A/(1 + E/v) + B/v + C v; \"knox\" if not stated",
            ),
            optional("eddy", Quantity::Ratio, "A of \"knox\"; 1 if not stated"),
            optional(
                "longitudinal",
                Quantity::Ratio,
                "B of \"knox\"; 2 if not stated",
            ),
            optional("exponent", Quantity::Ratio, "n of \"power\""),
            optional("coupling", Quantity::Ratio, "E of \"coupled\""),
            WALL_CONDUCTANCE,
            optional(
                "transfer",
                Quantity::Ratio,
                "C of \"knox\"; 0.05 if not stated",
            ),
            optional("eddy_height", Quantity::Length, "A of \"van_deemter\""),
            optional(
                "longitudinal_coefficient",
                Quantity::DiffusionCoefficient,
                "B of \"van_deemter\"",
            ),
            optional("transfer_time", Quantity::Time, "C of \"van_deemter\""),
            WALL_TEMPERATURE,
        ],
    },
    Table {
        heading: "open_tubular_column",
        meaning: "a capillary with a film of stationary phase",
        fields: &[
            measure("diameter", Quantity::Diameter, "inner diameter"),
            measure("length", Quantity::Length, "length"),
            measure(
                "film_thickness",
                Quantity::FilmThickness,
                "thickness of the film",
            ),
            measure(
                "film_diffusion_coefficient",
                Quantity::DiffusionCoefficient,
                "diffusion coefficient of the solute in the film",
            ),
            WALL_TEMPERATURE,
        ],
    },
    Table {
        heading: "detector_cell",
        meaning: "the cell of a detector that looks at the dense mobile phase; the band ends here",
        fields: &[
            measure("volume", Quantity::Volume, "volume of the cell"),
            VARIANCE_DIVISOR,
            optional(
                "time_constant",
                Quantity::Time,
                "time constant of the detector; 0 if not stated",
            ),
            PRESSURE_LIMIT,
            Field::optional(
                "detector",
                Holds::Word(DENSE_DETECTOR),
                "its sort; of one that works with light the ultraviolet cut-off of the mobile phase is told",
            ),
            optional(
                "wavelength",
                Quantity::Wavelength,
                "wavelength that it looks at, told where the mobile phase absorbs it",
            ),
        ],
    },
    Table {
        heading: "linear_restrictor",
        meaning: "a narrow capillary that holds the pressure before it",
        fields: &[
            measure("diameter", Quantity::Diameter, "inner diameter"),
            measure("length", Quantity::Length, "length"),
            OWN_TEMPERATURE,
            CALIBRATION_FACTOR,
            WALL_ROUGHNESS,
            HEAT_KEY,
            OUTLET_TEMPERATURE,
            OUTER_DIAMETER,
            WALL_CONDUCTIVITY,
            OUTSIDE_COEFFICIENT,
            CONDUCTS_ALONG_WALL,
        ],
    },
    Table {
        heading: "tapered_restrictor",
        meaning: "a capillary whose bore changes evenly, narrower or wider to the outlet",
        fields: &[
            measure("inlet_diameter", Quantity::Diameter, "bore at the inlet"),
            measure("outlet_diameter", Quantity::Diameter, "bore at the outlet"),
            measure("length", Quantity::Length, "length"),
            OWN_TEMPERATURE,
            CALIBRATION_FACTOR,
            WALL_ROUGHNESS,
            HEAT_KEY,
            OUTLET_TEMPERATURE,
            OUTER_DIAMETER,
            WALL_CONDUCTIVITY,
            OUTSIDE_COEFFICIENT,
            CONDUCTS_ALONG_WALL,
        ],
    },
    Table {
        heading: "segmented_restrictor",
        meaning: "stretches of capillary one behind the other",
        fields: &[
            Field::required(
                "stretch",
                Holds::Tables,
                "the stretches from inlet to outlet, each with `length`, `inlet_diameter` and, for a cone, `outlet_diameter`",
            ),
            OWN_TEMPERATURE,
            CALIBRATION_FACTOR,
            WALL_ROUGHNESS,
            HEAT_KEY,
            OUTLET_TEMPERATURE,
            OUTER_DIAMETER,
            WALL_CONDUCTIVITY,
            OUTSIDE_COEFFICIENT,
            CONDUCTS_ALONG_WALL,
        ],
    },
    Table {
        heading: "orifice_restrictor",
        meaning: "a short hole: closed end, pinhole, nozzle",
        fields: &[
            measure("diameter", Quantity::Diameter, "diameter of the hole"),
            measure(
                "discharge_coefficient",
                Quantity::Ratio,
                "coefficient of discharge: about 0.6 for a dense fluid through a sharp edge, 0.8 for a choked one, 0.95 for a nozzle \
                 (common practice)",
            ),
            CALIBRATION_FACTOR,
        ],
    },
    Table {
        heading: "crimped_restrictor",
        meaning: "a crimped tube, as the hole without loss that a measured flow is equivalent to",
        fields: &[
            measure("equivalent_area", Quantity::Area, "area of that hole"),
            CALIBRATION_FACTOR,
        ],
    },
    Table {
        heading: "frit_restrictor",
        meaning: "a porous plug",
        fields: &[
            measure("diameter", Quantity::Diameter, "diameter of the plug"),
            measure("length", Quantity::Length, "length of the plug"),
            optional(
                "permeability",
                Quantity::Permeability,
                "permeability; that of parallel capillaries if not stated, which need `pore_diameter` and `porosity`",
            ),
            optional(
                "pore_diameter",
                Quantity::Diameter,
                "diameter of the pores, for the slip at their walls and their Reynolds number; no slip if not stated",
            ),
            optional(
                "porosity",
                Quantity::TotalPorosity,
                "open share of the volume, for parallel capillaries and for the time of the fluid in the plug, which is not known without \
                 it",
            ),
            optional(
                "tortuosity",
                Quantity::Ratio,
                "way in the pores over the length, squared, for parallel capillaries; 2 if not stated (common practice)",
            ),
            OWN_TEMPERATURE,
            CALIBRATION_FACTOR,
        ],
    },
    Table {
        heading: "back_pressure_regulator",
        meaning: "a valve that holds the pressure before it",
        fields: &[
            measure("pressure", Quantity::Pressure, "pressure held before it"),
            optional(
                "outlet_pressure",
                Quantity::Pressure,
                "pressure behind it; that of the room if not stated",
            ),
            optional(
                "outlet_temperature",
                Quantity::Temperature,
                "temperature of its heated outlet; not heated if not stated",
            ),
            optional(
                "heater_power",
                Quantity::HeatFlowRate,
                "largest power of the heater",
            ),
            Field::optional(
                "valve_size",
                Holds::Boolean,
                "whether the opening that passes the flow is told: its flow coefficient, and holes without and with boiling",
            ),
            optional(
                "pulse_frequency",
                Quantity::Frequency,
                "of a valve that opens and shuts: how often; needs `open_share` and `volume`",
            ),
            optional(
                "open_share",
                Quantity::Ratio,
                "of a valve that opens and shuts: share of the time for which it is open",
            ),
            optional(
                "volume",
                Quantity::Volume,
                "of a valve that opens and shuts: volume between it and the column, which calms the pressure",
            ),
        ],
    },
    Table {
        heading: "gas_detector",
        meaning: "a detector that looks at the gas behind the restrictor; the band ends here",
        fields: &[
            Field::optional(
                "detector",
                Holds::Word(DETECTOR),
                "its sort, which brings the usual largest flow and what a modifier does to it",
            ),
            optional(
                "flow_limit",
                Quantity::VolumeFlowRate,
                "largest flow of gas it takes, at 20 degC and 101325 Pa",
            ),
            Field::optional(
                "flame",
                Holds::Boolean,
                "whether it burns hydrogen; false if not stated",
            ),
        ],
    },
    Table {
        heading: "vent",
        meaning: "where the gas leaves; the last part",
        fields: &[
            optional(
                "diameter",
                Quantity::Diameter,
                "inner diameter, for the velocity",
            ),
            Field::optional(
                "leads_to",
                Holds::Word(LEADS_TO),
                "where it ends; \"outdoors\" if not stated",
            ),
        ],
    },
];
