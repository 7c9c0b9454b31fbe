// One layout for every such vehicle: fuse at the pack, plug, contactor with precharge round it, a branch of its own
// with a fuse in each pole for charger and 12 V converter, one control line through key, kill switch and charger link.
#include "size/first_loom.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <fmt/format.h>

namespace loomproof {
namespace {

struct Cell {
  std::string_view chemistry;
  double full_v, empty_v;
};
// As the catalogue has them for a pack (tests/reference/lithium_cells.csv).
constexpr std::array<Cell, 4> cells{{{"lfp", 3.65, 2.5}, {"nmc", 4.2, 3.0}, {"nca", 4.2, 3.0}, {"lto", 2.85, 1.8}}};

const Cell* find_cell(const std::string& chemistry) {
  const auto found = std::find_if(cells.begin(), cells.end(), [&](const Cell& c) { return c.chemistry == chemistry; });
  return found == cells.end() ? nullptr : &*found;
}

// The first of usual figures at or above one.
double usual(std::initializer_list<double> figures, double least) {
  for (const double figure : figures) {
    if (figure >= least * (1 - 1e-9)) return figure;
  }
  return std::ceil(least);
}

class Writer {
 public:
  explicit Writer(const FirstLoom& wish) : w_(wish), full_v_(wish.full_v()), empty_v_(wish.empty_v()) {
    high_class_ = full_v_ > 60;
    low_v_ = std::floor(0.9 * empty_v_);
    high_v_ = std::ceil(1.15 * full_v_);
    rated_v_ = usual({60, 80, 100, 125, 150, 200}, 1.05 * full_v_);
    battery_a_ = w_.continuous_a ? std::min(w_.battery_a, *w_.continuous_a) : w_.battery_a;
    regen_a_ = w_.charge_a ? std::min(w_.regen_a, *w_.charge_a) : w_.regen_a;
    charger_a_ = w_.charge_a ? std::min(w_.charger_a, *w_.charge_a) : w_.charger_a;
    const double short_ka = w_.cell_mohm ? full_v_ / (w_.series * *w_.cell_mohm * 1e-3 / w_.parallel) / 1000 : 20 / 1.2;
    breaks_ka_ = usual({2.5, 5, 10, 20, 30, 50, 100, 200}, 1.2 * short_ka);
    // A converter that is always awake takes 2 W, the battery management 3 mA; a month of that must be left.
    const double rest_ah = (2 / full_v_ + 0.004) * 24 * 32;
    sleeps_ = w_.cell_ah && *w_.cell_ah * w_.parallel < rest_ah;
  }

  std::string text() {
    head();
    parts();
    wires();
    rest();
    return std::move(out_);
  }

 private:
  void line(std::string_view text) { out_ += fmt::format("{}\n", text); }
  void part(std::string_view name, std::string_view kind, const std::string& attributes,
            std::string_view comment = "") {
    out_ += fmt::format("  {:<11} {{is: {}{}{}}}{}\n", fmt::format("{}:", name), kind, attributes.empty() ? "" : ", ",
                        attributes, comment.empty() ? "" : fmt::format("   # {}", comment));
  }
  void unknown(std::string_view key, std::string_view what) {
    out_ += fmt::format("  # UNKNOWN: {}. Write `{}` here as the data sheet has it; until then `check` is undecided\n",
                        what, key);
  }

  void head() {
    line(fmt::format("# {}: {} {} cells in series, {} in parallel, {:.1f} V full, {:.1f} V empty.", w_.name, w_.series,
                     upper(w_.chemistry), w_.parallel, full_v_, empty_v_));
    line(
        "# Written by `loomproof start`. Compare every figure with the parts that you really have: what stands here "
        "is");
    line("# what they must be at least. Lengths are cut lengths, rough until you have laid a string along the way.");
    if (high_class_) {
      line(
          "# Above 60 V a touch can kill: traction cable is 600 V cable with an orange cover, in bundles of its own, "
          "and");
      line("# nothing of the traction side touches the frame.");
    }
    line("loom: 1");
    line(fmt::format("vehicle: {{name: \"{}\"}}", w_.name));
    line("");
    line("conditions:");
    line(fmt::format("  ambient: {} degC      # hottest air along the loom", w_.ambient_c));
    line(fmt::format("  coldest: {} degC", w_.coldest_c));
  }

  void parts() {
    line("\nparts:\n  # traction: pack, main fuse within 178 mm of it, plug, contactor, controller, motor");
    pack();
    const std::string volts = fmt::format("volts: {} V", rated_v_);
    const std::string breaks = fmt::format("breaks: {} kA at {} V", breaks_ka_, rated_v_);
    part("pack_fuse", "fuse", fmt::format("rated: choose, {}, {}, curve: bolt-in", volts, breaks));
    part("plug", "service-plug", fmt::format("carries: choose, {}", volts), "pull it before you work on anything");
    part("main", "contactor",
         fmt::format("carries: choose, makes: 40 A, breaks: {} A at {} V, coil: 12 V 1 A,\n"
                     "               suppression: zener, suppression_volts: 24 V, polarised: false",
                     usual({100, 200, 300, 400, 500, 600, 800, 1000, 1500}, 2 * battery_a_), rated_v_));
    line("  # precharge: charges the controller's capacitors through the resistor before the contactor closes");
    part("pre_fuse", "fuse", fmt::format("rated: choose, {}, {}, curve: cartridge", volts, breaks));
    part("pre_relay", "relay", fmt::format("carries: choose, {}, coil: 12 V 0.1 A, suppression: diode", volts));
    part("pre_res", "resistor", "ohms: choose, watts: choose, pulse: choose");
    controller();
    part("motor", "motor", fmt::format("continuous: {:.0f} A", std::ceil(0.45 * w_.phase_a)));
    if (w_.bms) {
      part("bms", "bms", fmt::format("cells: {}, cut_off: {:.0f} V, idle: 3 mA", w_.series, std::ceil(empty_v_)),
           "ends the drive before the cells are flat");
    }
    aux_parts(volts, breaks);
    control_parts();
    light_parts();
    line("\n  # joints");
    for (const char* joint : {"feed", "pack_neg", "lv_pos", "keyed", "stop_line"}) part(joint, "splice", "");
  }

  void pack() {
    if (!w_.cell_mohm)
      unknown("cell_resistance: 1.2 mohm", "resistance of one cell: what a short drives depends on it");
    if (!w_.cell_ah) unknown("cell_capacity: 50 Ah", "capacity of one cell");
    if (!w_.continuous_a) unknown("continuous: 120 A", "what the whole pack gives for ever");
    if (!w_.charge_a) unknown("charge: 50 A", "what the whole pack may be charged with");
    std::string known;
    if (w_.cell_mohm) known += fmt::format(", cell_resistance: {} mohm", *w_.cell_mohm);
    if (w_.cell_ah) known += fmt::format(", cell_capacity: {} Ah", *w_.cell_ah);
    if (w_.continuous_a) known += fmt::format(", continuous: {} A", *w_.continuous_a);
    if (w_.charge_a) known += fmt::format(", charge: {} A", *w_.charge_a);
    std::string fused;
    if (w_.bms) {
      fused = fmt::format(
          ",\n               sense_fuse: {{rated: choose, volts: {} V, breaks: {} kA at {} V, curve: cartridge}}",
          rated_v_, breaks_ka_, rated_v_);
    }
    part(
        "pack", "pack",
        fmt::format("chemistry: {}, series: {}, parallel: {}{}{}", w_.chemistry, w_.series, w_.parallel, known, fused));
  }

  void controller() {
    if (battery_a_ < w_.battery_a) line("  # battery_limit: set it in the controller to what the pack gives for ever");
    if (regen_a_ < w_.regen_a) line("  # regen_limit: set it in the controller to what the pack may be charged with");
    if (!w_.capacitance_uf) unknown("capacitance: 2200 uF", "capacitance of the controller, which precharge must fill");
    if (!w_.bleed_kohm) {
      line(
          "  # UNKNOWN: resistor across the controller's bus. Write `bleed: 10 kohm` here where the data sheet has "
          "one: a "
          "bus");
      line(high_class_ ? "  # without one stays charged; above 60 V `check` is undecided until then"
                       : "  # without one stays charged, and the test sheet cannot tell for how long");
    }
    line(fmt::format("  # closes `main` when the bus has {} V (even an empty pack has {:.1f} V)", low_v_, empty_v_));
    part("drive", "motor-controller",
         fmt::format("volts: {} V to {} V, battery_limit: {} A, phase_limit: {} A, regen_limit: {} A,\n"
                     "               {}{}isolated: true, closes_main_above: {} V, idle: 0.05 A,\n"
                     "               closes_main_after: 1 s, driver_volts: 60 V,\n"
                     "               key_input: {{max: 30 V}}, permit_input: {{max: 30 V}},\n"
                     "               brake_input: {{active: high, on_above: 8 V, off_below: 4 V, max: 30 V}},\n"
                     "               throttle: {{zero: 0.9 V, full: 4.1 V, valid: 0.6 V to 4.4 V}}",
                     low_v_, high_v_, battery_a_, w_.phase_a, regen_a_,
                     w_.capacitance_uf ? fmt::format("capacitance: {} uF, ", *w_.capacitance_uf) : "",
                     w_.bleed_kohm ? fmt::format("bleed: {} kohm, ", *w_.bleed_kohm) : "", low_v_));
  }

  void aux_parts(const std::string& volts, const std::string& breaks) {
    line(fmt::format("\n  # a branch of its own, fused in both poles: {}12 V converter",
                     w_.charger ? "charger and " : ""));
    part("aux_fuse", "fuse", fmt::format("rated: choose, {}, {}, curve: cartridge", volts, breaks));
    part("aux_fuse_n", "fuse", fmt::format("rated: choose, {}, {}, curve: cartridge", volts, breaks));
    if (w_.charger) {
      part("charger", "charger", fmt::format("out: {:.4g} V, limit: {} A, link_carries: 10 A", full_v_, charger_a_),
           "its link opens when it is plugged in, and the drive is dead");
    }
    if (sleeps_) {
      part("sleep", "switch", fmt::format("positions: [off, on], carries: choose, {}", volts),
           "off when parked: the converter would flatten so small a pack within a month");
    }
    part("dcdc", "dcdc",
         fmt::format("in: {} V to {} V, out: 13.2 V, limit: {} A, efficiency: 0.85, isolated: true, inrush: 10 A",
                     low_v_, high_v_,
                     usual({5, 8, 10, 15, 20, 25, 30, 40, 50}, std::max(1.3 * low_voltage_a(), 2.7 * light_a()))));
    part("frame", "frame", "");
  }

  double lamp_a(double watts) const { return w_.filament ? watts / 144 * 13.2 : watts / 12; }
  double low_voltage_a() const {
    double sum = 1.3;  // coils
    if (w_.headlamp) sum += lamp_a(w_.filament ? 35 : 25);
    if (w_.tail) sum += lamp_a(w_.filament ? 5 : 3);
    if (w_.brake_lamp) sum += lamp_a(w_.filament ? 21 : 5);
    if (w_.indicators) sum += lamp_a(w_.filament ? 20 : 8);
    if (w_.horn) sum += 3;
    if (w_.display) sum += 0.25;
    return sum;
  }
  // Behind `light_fuse`: a converter must give enough to open that fuse, whose rating is up to twice the load.
  double light_a() const {
    return (w_.headlamp ? lamp_a(w_.filament ? 35 : 25) : 0) + (w_.tail ? lamp_a(w_.filament ? 5 : 3) : 0) +
           (w_.indicators ? lamp_a(w_.filament ? 20 : 8) : 0) + (w_.horn ? 3 : 0);
  }
  bool any_light() const { return w_.headlamp || w_.tail || w_.indicators || w_.horn; }

  void control_parts() {
    line("\n  # control: key, then kill switch, then everything that drives");
    part("ctl_fuse", "fuse", "rated: choose, volts: 32 V, breaks: 1 kA, curve: blade");
    part("key", "switch", "positions: [off, on], carries: choose, volts: 16 V");
    part("kill", "switch", "positions: [run, stop], closed_in: [run], carries: choose, volts: 16 V");
    part("hand_brake", "selector", "positions: [released, pressed], carries: choose, volts: 16 V");
    part("foot_brake", "selector", "positions: [released, pressed], carries: choose, volts: 16 V");
    part("throttle", "throttle", "sensor: hall, gives: 0.8 V to 4.2 V");
    if (w_.display) part("display", "display", "watts: 3 W, volts: 12 V, works: 9 V to 16 V");
  }

  void lamp(std::string_view name, double led_w, double filament_w, std::string_view comment = "") {
    if (w_.filament) {
      part(name, "lamp", fmt::format("watts: {} W, volts: 12 V", filament_w), comment);
    } else {
      part(name, "led-lamp", fmt::format("watts: {} W, volts: 12 V, works: 9 V to 16 V", led_w), comment);
    }
  }
  std::string lamp_pos(std::string_view name) const { return fmt::format("{}.{}", name, w_.filament ? "a" : "pos"); }
  std::string lamp_neg(std::string_view name) const { return fmt::format("{}.{}", name, w_.filament ? "b" : "neg"); }

  void light_parts() {
    if (w_.brake_lamp) lamp("brake_lamp", 5, 21);
    if (!any_light()) return;
    line("\n  # lights and horn");
    part("light_fuse", "fuse", "rated: choose, volts: 32 V, breaks: 1 kA, curve: blade");
    if (w_.headlamp || w_.tail) part("lights", "switch", "positions: [off, on], carries: choose, volts: 16 V");
    if (w_.headlamp) lamp("headlamp", 25, 35);
    if (w_.tail) lamp("tail", 3, 5);
    if (w_.indicators) {
      part("flasher", "flasher", "carries: choose, volts: 16 V");
      part("turn", "selector", "positions: [off, left, right], carries: choose, volts: 16 V");
      lamp("turn_left", 8, 20, "front and rear together");
      lamp("turn_right", 8, 20);
    }
    if (w_.horn) {
      part("horn_knob", "switch", "positions: [released, pressed], carries: choose, volts: 16 V");
      part("horn", "horn", "draws: 3 A, volts: 12 V");
    }
  }

  enum class Pole { pos, neg };
  void traction(std::string_view name, std::string_view from, std::string_view to, double metres,
                std::string_view insulation, std::string_view colour, std::string_view bundle = "") {
    const std::string orange = high_class_ ? "OG" : "";
    wire(name, from, to, metres, insulation, orange + std::string(colour), bundle, high_class_ ? ", volts: 600 V" : "");
  }
  void wire(std::string_view name, std::string_view from, std::string_view to, double metres,
            std::string_view insulation, std::string_view colour, std::string_view bundle = "",
            std::string_view volts = "") {
    out_ +=
        fmt::format("  {:<4} {{from: {}, to: {}, size: choose, length: {:.3g} m, insulation: {}{}, colour: {}{}}}\n",
                    fmt::format("{}:", name), from, to, metres, insulation, volts, colour,
                    bundle.empty() ? "" : fmt::format(", in: {}", bundle));
  }
  void low(std::string_view name, std::string_view from, std::string_view to, double metres, std::string_view colour,
           std::string_view bundle = "") {
    wire(name, from, to, metres, "pvc-105", colour, bundle);
  }

  void wires() {
    const double run = w_.pack_to_controller_m;
    line("\nwires:\n  # traction, positive side");
    traction("T1", "pack.pos", "pack_fuse.a", 0.15, "silicone-180", "RD");
    traction("T2", "pack_fuse.b", "plug.a", 0.3 * run + 0.1, "silicone-180", "RD", "trunk");
    traction("T3", "plug.b", "feed", 0.3 * run + 0.1, "silicone-180", "RD", "trunk");
    traction("T4", "feed", "main.a", 0.2, "silicone-180", "RD", "trunk");
    traction("T5", "main.b", "drive.bat_pos", 0.4 * run + 0.1, "silicone-180", "RD");
    line("  # traction, negative side");
    traction("T7", "pack.neg", "pack_neg", 0.3, "silicone-180", "BK", "trunk");
    traction("T8", "pack_neg", "drive.bat_neg", run, "silicone-180", "BK", "trunk");
    line("  # motor phases");
    traction("M1", "drive.phase_u", "motor.u", w_.controller_to_motor_m, "silicone-180", "YE");
    traction("M2", "drive.phase_v", "motor.v", w_.controller_to_motor_m, "silicone-180", "GN");
    traction("M3", "drive.phase_w", "motor.w", w_.controller_to_motor_m, "silicone-180", "BU");
    line("  # precharge, around the contactor");
    traction("P1", "feed", "pre_fuse.a", 0.1, "xlpe-125", "RD");
    traction("P2", "pre_fuse.b", "pre_relay.a", 0.2, "xlpe-125", "RD");
    traction("P3", "pre_relay.b", "pre_res.a", 0.2, "xlpe-125", "RD");
    traction("P4", "pre_res.b", "drive.bat_pos", 0.15, "xlpe-125", "RD");
    aux_wires();
    control_wires();
    light_wires();
    if (!w_.bms) return;
    line("  # battery management: fed through the fuses at the cells");
    const int middle = w_.series / 2;
    traction("S0", "pack.tap0", "bms.neg", 0.5, "xlpe-125", "BK", "sense");
    traction(fmt::format("S{}", middle), fmt::format("pack.tap{}", middle), fmt::format("bms.c{}", middle), 0.5,
             "xlpe-125", "WH", "sense");
    traction(fmt::format("S{}", w_.series), fmt::format("pack.tap{}", w_.series), "bms.pos", 0.5, "xlpe-125", "RD",
             "sense");
  }

  void aux_wires() {
    line("  # branch for charger and converter");
    traction("A1", "feed", "aux_fuse.a", 0.1, "xlpe-125", "RD");
    if (sleeps_) {
      traction("A2", "aux_fuse.b", "sleep.a", 0.2, "xlpe-125", "RD");
      traction("A3", "sleep.b", "dcdc.in_pos", 0.4, "xlpe-125", "RD");
    } else {
      traction("A3", "aux_fuse.b", "dcdc.in_pos", 0.5, "xlpe-125", "RD");
    }
    traction("A5", "pack_neg", "aux_fuse_n.a", 0.1, "xlpe-125", "BK");
    traction("A7", "aux_fuse_n.b", "dcdc.in_neg", 0.5, "xlpe-125", "BK");
    if (w_.charger) {
      traction("A4", "aux_fuse.b", "charger.pos", 0.8, "xlpe-125", "RD");
      traction("A8", "aux_fuse_n.b", "charger.neg", 0.8, "xlpe-125", "BK");
    }
    if (w_.charger && w_.bms) {
      low("A9", "charger.permit_a", "bms.charge_a", 0.9, "WHGN");
      low("A10", "charger.permit_b", "bms.charge_b", 0.9, "WHBN");
    }
    line("  # 12 V supply");
    low("L1", "dcdc.out_pos", "lv_pos", 0.3, "VT");
    line(
        "  # a stud of its own: lost together with the relays' it would let them be held in through a lamp and the "
        "display");
    low("L3", "dcdc.out_neg", "frame.converter", 0.3, "BN");
  }

  void control_wires() {
    const double front = w_.to_front_m;
    line("  # control line");
    low("C1", "lv_pos", "ctl_fuse.a", 0.15, "VT");
    low("C2", "ctl_fuse.b", "key.a", front, "VT", "front");
    low("C3", "key.b", "kill.a", 0.4, "VTBU", "front");
    if (w_.charger) {
      low("C4", "kill.b", "charger.link_a", front + 0.4, "VTBU", "front");
      low("C5", "charger.link_b", "keyed", 0.8, "VTWH");
    } else {
      low("C4", "kill.b", "keyed", front, "VTWH", "front");
    }
    low("C6", "keyed", "drive.key", 0.5, "VTWH");
    low("C7", "keyed", "main.coil_a", 0.6, "VTWH");
    low("C8", "main.coil_b", "drive.coil_drive", 0.6, "BNWH");
    low("C9", "keyed", "pre_relay.coil_a", 0.6, "VTWH");
    low("C10", "pre_relay.coil_b", "frame.rear", 0.4, "BN");
    if (w_.bms) {
      low("C11", "foot_brake.released", "bms.drive_a", front, "RDWH", "front");
      low("C12", "bms.drive_b", "drive.permit", 0.7, "VTGN");
    } else {
      low("C12", "foot_brake.released", "drive.permit", front, "RDWH", "front");
    }
    low("C13", "drive.io_neg", "frame.rear", 0.4, "BN");
    line("  # brakes: at rest the feed goes on through both switches to the permit; applied, to lamp and controller");
    low("B2", "ctl_fuse.b", "hand_brake.common", front, "VTRD", "front");
    low("B3", "hand_brake.released", "foot_brake.common", front, "VTRD", "front");
    low("B4", "hand_brake.pressed", "stop_line", front, "RDBU", "front");
    low("B5", "foot_brake.pressed", "stop_line", front, "RDBU", "front");
    low("B6", "stop_line", "drive.brake", 0.6, "RDBU");
    if (w_.brake_lamp) {
      low("B7", "stop_line", lamp_pos("brake_lamp"), w_.to_tail_m, "RDBU", "tail_run");
      low("B8", lamp_neg("brake_lamp"), "frame.tail", 0.3, "BN");
    }
    line("  # throttle: three wires of its own, nothing else on its return");
    low("G1", "drive.throttle_supply", "throttle.supply", front + 0.2, "PK", "throttle_lead");
    low("G2", "drive.throttle_signal", "throttle.signal", front + 0.2, "GY", "throttle_lead");
    low("G3", "drive.throttle_return", "throttle.return", front + 0.2, "WH", "throttle_lead");
    if (!w_.display) return;
    line("  # display");
    low("H9", "keyed", "display.pos", front + 0.3, "VTWH", "front");
    low("H10", "display.neg", "frame.dash", 0.4,
        "BN");  // not with the lamps: their lost stud would feed the keyed line
  }

  void light_wires() {
    if (!any_light()) return;
    const double front = w_.to_front_m;
    line("  # lights and horn");
    low("H1", "lv_pos", "light_fuse.a", 0.15, "VT");
    if (w_.headlamp || w_.tail) low("H2", "light_fuse.b", "lights.a", front, "YE", "front");
    if (w_.headlamp) {
      low("H3", "lights.b", lamp_pos("headlamp"), 0.5, "YEWH");
      low("H5", lamp_neg("headlamp"), "frame.head", 0.3, "BN");
    }
    if (w_.tail) {
      low("H7", "lights.b", lamp_pos("tail"), front + w_.to_tail_m, "GYRD", "tail_run");
      low("H8", lamp_neg("tail"), "frame.tail", 0.3, "BN");
    }
    if (w_.indicators) {
      low("I2", "light_fuse.b", "flasher.a", 0.3, "GN");
      low("I3", "flasher.b", "turn.common", front, "GNWH", "front");
      low("I4", "turn.left", lamp_pos("turn_left"), 0.9, "BUGN");
      low("I5", "turn.right", lamp_pos("turn_right"), 0.9, "GNBK");
      low("I6", lamp_neg("turn_left"), "frame.head", 0.3, "BN");
      low("I7", lamp_neg("turn_right"), "frame.head", 0.3, "BN");
    }
    if (w_.horn) {
      low("I8", "light_fuse.b", "horn_knob.a", front, "GN", "front");
      low("I9", "horn_knob.b", "horn.a", 0.7, "BKYE");
      low("I10", "horn.b", "frame.head", 0.3, "BN");
    }
  }

  void rest() {
    line("\nbundles:");
    line("  trunk:         {ambient: 60 degC, sleeve: braided}");
    line("  front:         {ambient: 45 degC, sleeve: corrugated}");
    if (w_.brake_lamp || w_.tail) line("  tail_run:      {ambient: 45 degC, sleeve: corrugated}");
    line("  throttle_lead: {ambient: 45 degC, sleeve: braided}");
    if (w_.bms) line("  sense:         {ambient: 50 degC, sleeve: braided}");
    line("\n# what the drive asks for: the ride is repeated for ever. Make it yours.");
    line("duty:");
    line(fmt::format("  climb:  {{drive.battery: {} A, drive.phase: {} A, for: 45 s}}", battery_a_, w_.phase_a));
    line(fmt::format("  cruise: {{drive.battery: {:.0f} A, drive.phase: {:.0f} A, for: 8 min}}",
                     std::ceil(0.4 * battery_a_), std::ceil(0.35 * w_.phase_a)));
    if (regen_a_ > 0) {
      line(fmt::format("  slow:   {{drive.battery: -{} A, drive.phase: {:.0f} A, for: 20 s}}", regen_a_,
                       std::ceil(0.3 * w_.phase_a)));
    }
    line(fmt::format("  ride:   [climb, cruise{}]", regen_a_ > 0 ? ", slow" : ""));
    line("\n# beside what is demanded of every such vehicle");
    line("must:");
    line("  hand-brake-cuts-drive: {when: {hand_brake: pressed}, never: drive.torque}");
    line("  foot-brake-cuts-drive: {when: {foot_brake: pressed}, never: drive.torque}");
    line("  key-kills-bus:         {when: {key: off}, never: {live: drive.bat_pos}}");
    line("  kill-stops-drive:      {when: {kill: stop}, never: drive.torque}");
    if (w_.charger) line("  charger-blocks-drive:  {when: {charger: plugged}, never: drive.torque}");
  }

  static std::string upper(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
    return text;
  }

  const FirstLoom& w_;
  double full_v_, empty_v_;
  double low_v_ = 0, high_v_ = 0, rated_v_ = 0, battery_a_ = 0, regen_a_ = 0, charger_a_ = 0, breaks_ka_ = 0;
  bool high_class_ = false, sleeps_ = false;
  std::string out_;
};

}  // namespace

double FirstLoom::full_v() const {
  const Cell* cell = find_cell(chemistry);
  return cell ? series * cell->full_v : 0;
}

double FirstLoom::empty_v() const {
  const Cell* cell = find_cell(chemistry);
  return cell ? series * cell->empty_v : 0;
}

std::string trouble_with(const FirstLoom& w) {
  if (!find_cell(w.chemistry)) return fmt::format("chemistry '{}' is none of lfp, nmc, nca, lto", w.chemistry);
  if (w.series < 4 || w.series > 40) return fmt::format("{} cells in series: 4 to 40 are expected", w.series);
  if (w.parallel < 1 || w.parallel > 200) return fmt::format("{} cells in parallel: 1 to 200 are expected", w.parallel);
  const double full_v = w.full_v();
  if (full_v > 125) return fmt::format("{:.1f} V full: this tool is made for up to 120 V nominal", full_v);
  // A converter of 12 V needs some room above its output.
  if (w.empty_v() < 20) return fmt::format("{:.1f} V empty is too little for a 12 V converter and relays", w.empty_v());
  if (!(w.battery_a >= 1 && w.battery_a <= 1000)) return "the battery current is not between 1 A and 1000 A";
  if (!(w.phase_a >= w.battery_a && w.phase_a <= 2000)) return "the phase current is below the battery current";
  if (w.name.find_first_of("\"\\\n\r") != std::string::npos) return "the name holds a quote, a backslash or a line end";
  return {};
}

std::string first_loom(const FirstLoom& wish) {
  return Writer(wish).text();
}

}  // namespace loomproof
