// The laws of the circuit's branches: what each conducts and pushes, and how sources, converters, loads and diodes pick
// their state from the voltages that they see.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "solve/operating_point.h"

namespace loomproof {

/// Whether the branch has a state that the solution may change while it settles.
bool is_active(const Circuit&, const Branch&);

/// Whether a step of the logic may move an active branch by itself: a source or converter goes on or off, a load that
/// hunted is given another chance.
bool is_switched(const Branch&, const LogicState& before, const LogicState& after);

/// No part of a divider has less than this share of its resistance, so that none is a short circuit.
inline constexpr double least_divider_share = 1e-3;

/// Diodes: piecewise linear, v = Vf + r i when they conduct. Current limits: voltage source until the limit, current
/// source beyond. Constant-power and constant-current loads: currents iterated to a share of themselves, below their
/// lowest working voltage a resistance, of which a backward voltage drives no more than that one. The state of one
/// settling lives here; start() begins another from rest.
class BranchLaws {
 public:
  /// @param settled_share  of itself, by which a constant power's current may still move when it counts as settled
  explicit BranchLaws(const Circuit&, double settled_share = 1e-9);

  enum class Mode : std::uint8_t { off, volts, limit };  // of a source or converter output
  /// The last current that was tried for a constant power, and the one that its voltage then asked for.
  struct Try {
    double amps = 0;
    double wanted = 0;
    bool made = false;
  };
  /// How a load works: with its own power or current, as a resistance below its lowest voltage, or fed backward by more
  /// than that, with no more current than it draws there.
  enum Low : std::uint8_t { works, starved, backward };
  /// What a settling leaves behind, but for the duty currents.
  struct State {
    std::vector<Mode> source_mode, out_mode;
    std::vector<std::uint8_t> diode_on, load_low, in_low;
    std::vector<double> load_current, in_current;  // when not in their low mode
  };
  const State& state() const { return state_; }
  /// To go on from, without duty currents.
  void set_state(const State& state) {
    state_ = state;
    thaw();
    clear_duty();
    hints_ = nullptr;
  }
  /// Appends what a settled state consists of.
  void save(std::vector<std::uint8_t>& modes, std::vector<double>& amps) const;
  /// Takes that back, in the midst of a settling, and moves both on behind it.
  void resume(const std::uint8_t*& modes, const double*& amps);
  /// Takes the state of one branch, without its duty current; true when it was another one.
  bool adopt(const Branch&, const State&);

  void start();
  /// Currents from which constant powers are first tried when they leave their low mode, in place of none, until the
  /// next start() or set_state(): where one is too much for the bus, that try does not count and the next is from none.
  /// nullptr: no hints. The state must outlive its use.
  void set_hints(const State* hints);
  /// What the logic switches on starts at its voltage, a converter's input from its hint; what it switches off gives
  /// nothing. Saves the solutions in which it would find that out by itself.
  void follow(const LogicState& before, const LogicState& now);
  /// A load that hunted in one state of the logic may run well in the next.
  void thaw();

  double conductance(const Branch&, const OperatingPoint&) const;  // S
  /// Current in A that the branch pushes into node a and draws from node b besides its conductance.
  double injection(const Branch&, const OperatingPoint&) const;
  /// Looks at the voltages of `point` and writes the branch's current there; true when its state moved.
  bool update(const Branch&, OperatingPoint&);
  /// Cuts off what works, draws nothing yet and has no path between its poles; true when it was such a branch. Only
  /// once the sources have settled: beside one at its limit it has none for the step that the source takes to see it.
  bool starve_cut_off(const Branch&, const OperatingPoint&);

  void clear_duty();
  /// Sets the current of a load's duty channel in place of its own amount.
  void set_duty(std::size_t load, double amps);
  /// Whether the load is off or starved by too low a voltage.
  bool is_starved(std::size_t load) const { return state_.load_low[load] != 0; }

  /// Burnt out or cut off: conducts and pushes nothing. By branch.
  std::vector<std::uint8_t> opened;

 private:
  bool is_opened(const Branch&) const;
  double source_emf(const Source&, Charge) const;
  double load_amps(std::size_t load, double v) const;
  double low_conductance(std::size_t load) const;
  std::optional<bool> turn_backward(std::size_t load, double v);
  double out_watts(std::size_t converter, const OperatingPoint&) const;
  double hint_a(const Branch&) const;  // of a load or a converter's input; 0: none
  bool pick_low(std::uint8_t& low, int& flips, double& amps, Try& last, std::uint8_t& hinted, double hint_a, double v,
                double live, bool bistable) const;
  static bool pick_mode(Mode&, bool on, bool sinks, double emf_v, double ohm, std::optional<double> limit_a, double v,
                        bool path);

  const Circuit& circuit_;
  const Elements& all_;
  double settled_share_ = 1e-9;
  State state_;
  std::vector<double> duty_current_;  // by load, from its channel
  std::vector<int> load_flips_, in_flips_;
  std::vector<Try> load_try_, in_try_;
  const State* hints_ = nullptr;
  std::vector<std::uint8_t> load_hinted_, in_hinted_;  // 1: at work from its hint, 2: the hint is used up
};

/// Lowest voltage at which a constant-current or constant-power load does its work.
double live_v(const Load&);

}  // namespace loomproof
