//! Writes a network out as a SPICE netlist: standard elements, and B sources with the published equations for valves.
//! `ngspice -b FILE` runs it as it is.
//!
//! Names become what SPICE takes: small letters, digits and underscores. An open resistor is left out, a wire becomes a
//! source of 0 V, a jump takes a nanosecond.

use std::fmt::Write;

use super::builder::Network;
use super::part::{Ends, Kind, Node, Part};
use super::signal::{Form, Shape};
use super::{GMIN, NetworkError};
use crate::quantity::{Frequency, Quantity, Time};
use crate::valve::model::{Model, Pentode, Triode};

/// How long a jump takes, in s: SPICE knows none without time.
const JUMP: f64 = 1e-9;

/// What SPICE is to work out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Analysis<'n> {
    /// The operating point.
    OperatingPoint,
    /// A sweep with a hundred frequencies a decade.
    Sweep {
        /// The lowest frequency.
        from: Frequency,
        /// The highest frequency.
        to: Frequency,
        /// The nodes to print, in decibels and degrees.
        nodes: &'n [&'n str],
    },
    /// The transient: what happens in time.
    Transient {
        /// From 0 to this time.
        duration: Time,
        /// The nodes to print.
        nodes: &'n [&'n str],
    },
}

impl Network {
    /// The network as a SPICE netlist that prints its operating point.
    ///
    /// # Errors
    /// What was wrong with a part.
    pub fn netlist(&self, title: &str) -> Result<String, NetworkError> {
        self.netlist_for(title, Analysis::OperatingPoint)
    }

    /// The network as a SPICE netlist for an analysis.
    ///
    /// # Errors
    /// What was wrong with a part; an unknown node.
    pub fn netlist_for(&self, title: &str, analysis: Analysis<'_>) -> Result<String, NetworkError> {
        if let Some(problem) = &self.problem {
            return Err(problem.clone());
        }
        let names = Names::of(self);
        let mut text = String::new();
        // A title of one line; writing to a string cannot fail.
        let title = title.split_whitespace().collect::<Vec<_>>().join(" ");
        _ = writeln!(text, "* {title}");
        _ = writeln!(text, ".options reltol=1e-6 abstol=1e-12 vntol=1e-9 gmin={GMIN:e} temp=27 tnom=27");
        for (place, node) in self.nodes.iter().enumerate() {
            let name = names.node(Some(place));
            if name != node {
                _ = writeln!(
                    text,
                    "* node {name}: {}",
                    node.split_whitespace().collect::<Vec<_>>().join(" ")
                );
            }
        }
        for (place, part) in self.parts.iter().enumerate() {
            names.write(&mut text, self, place, part);
        }
        let print = |nodes: &[&str], forms: &[&str]| -> Result<String, NetworkError> {
            let mut print = String::new();
            for node in nodes {
                let node = names.node(self.node_called(node)?);
                forms.iter().for_each(|form| print += &format!(" {form}({node})"));
            }
            Ok(print)
        };
        match analysis {
            Analysis::OperatingPoint => text += ".op\n",
            Analysis::Sweep { from, to, nodes } => {
                _ = writeln!(text, ".ac dec 100 {:e} {:e}", from.si(), to.si());
                _ = writeln!(text, ".print ac{}", print(nodes, &["vdb", "vp"])?);
            }
            Analysis::Transient { duration, nodes } => {
                let (step, end) = (duration.si() / 1000.0, duration.si());
                _ = writeln!(text, ".tran {step:e} {end:e} 0 {step:e}");
                _ = writeln!(text, ".print tran{}", print(nodes, &["v"])?);
            }
        }
        text += ".end\n";
        Ok(text)
    }
}

/// The names that SPICE is given, in the order of nodes and parts: each once.
struct Names {
    nodes: Vec<String>,
    parts: Vec<String>,
    jump: f64,
}

/// How long a jump takes: less where two follow each other closely.
fn jump(network: &Network) -> f64 {
    super::transient::forms(network).fold(JUMP, |jump, form| match &form.shape {
        Shape::Steps(steps) => {
            steps.windows(2).fold(jump, |jump: f64, pair| jump.min((pair[1].0 - pair[0].0) / 1000.0))
        }
        _ => jump,
    })
}

impl Names {
    fn of(network: &Network) -> Self {
        // SPICE's own names for the chassis are taken.
        let mut taken = vec!["0".to_owned(), "gnd".to_owned()];
        let mut nodes = Vec::new();
        for node in &network.nodes {
            nodes.push(own_name(node, &mut taken));
        }
        let parts = network.parts.iter().map(|part| own_name(&part.name, &mut taken)).collect();
        Self { nodes, parts, jump: jump(network) }
    }

    fn node(&self, node: Node) -> &str {
        node.and_then(|node| self.nodes.get(node)).map_or("0", String::as_str)
    }

    fn part(&self, place: usize) -> &str {
        self.parts.get(place).map_or("", String::as_str)
    }

    fn ends(&self, (a, b): Ends) -> String {
        format!("{} {}", self.node(a), self.node(b))
    }

    fn write(&self, text: &mut String, network: &Network, place: usize, part: &Part) {
        let name = self.part(place);
        _ = match &part.kind {
            Kind::Resistor(ends, 0.0) => writeln!(text, "V{name} {} 0", self.ends(*ends)),
            Kind::Resistor(ends, r) if r.is_infinite() => {
                writeln!(text, "* R{name} {} is open", self.ends(*ends))
            }
            Kind::Resistor(ends, r) => writeln!(text, "R{name} {} {r:e}", self.ends(*ends)),
            Kind::Capacitor(ends, 0.0) => writeln!(text, "* C{name} {} is open", self.ends(*ends)),
            Kind::Capacitor(ends, c) => writeln!(text, "C{name} {} {c:e}", self.ends(*ends)),
            Kind::Inductor(ends, l, r) => self.write_winding(text, name, *ends, *l, *r),
            Kind::Coupling(one, other, k) => {
                let winding = |at: &usize| match network.parts.get(*at).map(|part| &part.kind) {
                    Some(Kind::Inductor(_, l, _)) if *l > 0.0 => Some(self.part(*at)),
                    _ => None,
                };
                match (winding(one), winding(other)) {
                    (Some(one), Some(other)) => writeln!(text, "K{name} L{one} L{other} {k:e}"),
                    _ => Ok(()),
                }
            }
            Kind::Voltage(ends, form) => {
                writeln!(text, "V{name} {} {}", self.ends(*ends), source(form, self.jump))
            }
            Kind::Current(ends, form) => {
                writeln!(text, "I{name} {} {}", self.ends(*ends), source(form, self.jump))
            }
            Kind::VoltageByVoltage(ends, input, gain) => {
                writeln!(text, "E{name} {} {} {gain:e}", self.ends(*ends), self.ends(*input))
            }
            Kind::CurrentByVoltage(ends, input, g) => {
                writeln!(text, "G{name} {} {} {g:e}", self.ends(*ends), self.ends(*input))
            }
            Kind::VoltageByCurrent(ends, source, r) => {
                writeln!(text, "H{name} {} V{} {r:e}", self.ends(*ends), self.part(*source))
            }
            Kind::CurrentByCurrent(ends, source, gain) => {
                writeln!(text, "F{name} {} V{} {gain:e}", self.ends(*ends), self.part(*source))
            }
            Kind::Transformer((plus, minus), secondary, turns) => {
                let (plus, minus, secondary) = (self.node(*plus), self.node(*minus), self.ends(*secondary));
                writeln!(
                    text,
                    "V{name} {plus} {name}_in 0\nE{name} {name}_in {minus} {secondary} {turns:e}\n\
                     F{name} {secondary} V{name} {:e}",
                    -turns
                )
            }
            Kind::Diode(ends, is, n) => {
                writeln!(
                    text,
                    "D{name} {} {name}_model\n.model {name}_model D(IS={is:e} N={n:e})",
                    self.ends(*ends)
                )
            }
            Kind::Valve(pins, model) => {
                let [a, s, g, k] = pins.map(|pin| self.node(pin));
                text.push_str(&match model {
                    Model::Triode(triode) => triode_sources(name, [a, g, k], triode),
                    Model::Pentode(pentode) => pentode_sources(name, [a, s, g, k], pentode),
                });
                Ok(())
            }
        };
    }

    fn write_winding(&self, text: &mut String, name: &str, (a, b): Ends, l: f64, r: f64) -> std::fmt::Result {
        let (a, b) = (self.node(a), self.node(b));
        match (l > 0.0, r > 0.0) {
            (true, true) => writeln!(text, "R{name} {a} {name}_in {r:e}\nL{name} {name}_in {b} {l:e}"),
            (true, false) => writeln!(text, "L{name} {a} {b} {l:e}"),
            (false, true) => writeln!(text, "R{name} {a} {b} {r:e}"),
            (false, false) => writeln!(text, "V{name} {a} {b} 0"),
        }
    }
}

/// What a part may add to its name for nodes and sources inside it.
const INSIDE: &[&str] = &["", "_in", "_model", "_x", "_e", "_a", "_s"];

/// A name of small letters, digits and underscores that nothing else has, inside parts neither.
fn own_name(name: &str, taken: &mut Vec<String>) -> String {
    let plain: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '_' }).collect();
    let inside = |name: &str| INSIDE.iter().map(|suffix| format!("{name}{suffix}")).collect::<Vec<_>>();
    let free = |name: &String| !name.is_empty() && inside(name).iter().all(|name| !taken.contains(name));
    let numbered = (2..).map(|number| format!("{plain}_{number}"));
    let own = [plain.clone()].into_iter().chain(numbered).find(free).unwrap_or_default();
    taken.extend(inside(&own));
    own
}

fn source(form: &Form, jump: f64) -> String {
    let steady = form.steady;
    let mut text = format!("DC {steady:e}");
    if form.ac.0 != 0.0 {
        text += &format!(" AC {:e} {:e}", form.ac.0, form.ac.1);
    }
    match &form.shape {
        Shape::Steady => {}
        Shape::Sine(amplitude, frequency) => text += &format!(" SIN({steady:e} {amplitude:e} {frequency:e})"),
        Shape::Steps(steps) => {
            let mut before = steady;
            let mut points = if steps.first().is_some_and(|step| step.0 == 0.0) {
                String::new()
            } else {
                format!("0 {steady:e} ")
            };
            for (time, value) in steps {
                points += &format!("{time:e} {before:e} {:e} {value:e} ", time + jump);
                before = *value;
            }
            text += &format!(" PWL({})", points.trim_end());
        }
    }
    text
}

/// E1 as a voltage of its own, so that the equations stay readable; with the exponential's argument kept in range.
fn drive(name: &str, attracting: &str, kp: f64, share: &str) -> String {
    format!(
        "B{name}_x {name}_x 0 V={share}\n\
         B{name}_e {name}_e 0 V=V({attracting}) > 0 ? \
         V({attracting})/{kp:e}*(V({name}_x) > 36 ? V({name}_x) : ln(1+exp(min(V({name}_x),36)))) : 0\n"
    )
}

fn triode_sources(name: &str, [a, g, k]: [&str; 3], triode: &Triode) -> String {
    let Triode { mu, ex, kg1, kp, kvb, vct } = triode;
    let share = format!("{kp:e}*(1/{mu:e}+(V({g},{k})+{vct:e})/sqrt({kvb:e}+V({a},{k})*V({a},{k})))");
    drive(name, &format!("{a},{k}"), *kp, &share)
        + &format!("B{name}_a {a} {k} I=2*V({name}_e)^{ex:e}/{kg1:e}\n")
}

fn pentode_sources(name: &str, [a, s, g, k]: [&str; 4], pentode: &Pentode) -> String {
    let Pentode { mu, ex, kg1, kg2, kp, slope, alpha_s, beta } = pentode;
    let share = format!("{kp:e}*(1/{mu:e}+V({g},{k})/max(V({s},{k}),1e-6))");
    let alpha = 1.0 - kg1 / kg2 * (1.0 + alpha_s);
    let (steady, falling) = (1.0 / kg1 - 1.0 / kg2, alpha / kg1 + alpha_s / kg2);
    let growing = slope / kg1;
    let anode = format!("max(V({a},{k}),0)");
    drive(name, &format!("{s},{k}"), *kp, &share)
        + &format!(
            "B{name}_a {a} {k} I=V({name}_e)^{ex:e}\
             *max({steady:e}+{growing:e}*{anode}-{falling:e}/(1+{beta:e}*{anode}),0)\n\
             B{name}_s {s} {k} I=V({name}_e)^{ex:e}/{kg2:e}*(1+{alpha_s:e}/(1+{beta:e}*{anode}))\n"
        )
}
