// One island for the whole circuit, of which a fault opens or lays a link and a settling moves a few.
#include "solve/fault_network.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "model/time_limit.h"
#include "solve/linear_network.h"
#include "solve/settling_limits.h"

namespace loomproof {
namespace {

constexpr int most_fuse_rounds = 12;
constexpr double never_v = 1e9;
constexpr double settled_share = 1e-7;  // far below what a threshold is known to

}  // namespace

FaultNetwork::FaultNetwork(const Circuit& circuit, const std::vector<Fault>& faults)
    : loom_(*circuit.loom),
      circuit_(circuit),
      given_(circuit.loom->elements),
      lines_((circuit_.loom = &loom_, lay_fault_lines(circuit_, faults))),
      laws_(circuit_, settled_share),
      logic_(circuit_),
      island_(laid_island()) {
  const Elements& all = loom_.elements;
  open_.assign(lines_.all.size(), 0);
  held_contact_.assign(all.contacts.size(), -1);
  for (std::size_t i = 0; i < circuit_.branches.size(); ++i) {
    const Branch& b = circuit_.branches[i];
    if (is_active(circuit_, b)) actives_.push_back({.line = i});
    if (b.type == BranchType::converter_out) {
      // Behind its output, since what it takes in follows what it gives.
      std::swap(actives_[actives_.size() - 2], actives_[actives_.size() - 1]);
      actives_.back().input = actives_.size() - 1;
    }
    if (b.type == BranchType::contact) contacts_.push_back(i);
    if (is_divider(b)) dividers_.push_back(i);
  }
  for (std::size_t i = 0; i < given_.inputs.size(); ++i) {
    const Input& input = given_.inputs[i];
    if (input.analogue || !input.on_above_v || !input.off_below_v || *input.off_below_v >= *input.on_above_v) continue;
    digital_inputs_.push_back(i);
  }
  for (std::size_t l = 0; l < lines_.all.size(); ++l) {
    if (!lines_.is_bridge(l)) island_.set_conductance(l, line_conductance(l));
  }
  point_.node_v.assign(circuit_.nodes, 0);
  point_.piece.assign(circuit_.nodes, 0);
  Situation nowhere;
  nowhere.positions.assign(loom_.parts.size(), 0);
  begin(nowhere);
  logic_.rest(point_, point_.logic);
}

// Joined for as long as no fault opens it.
bool FaultNetwork::lasts(std::size_t line) const {
  if (!lines_.is_branch(line)) return !lines_.is_bridge(line);
  if (may_blow_ && circuit_.branches[line].type == BranchType::fuse) return false;
  const Branch& b = circuit_.branches[line];
  if (is_active(circuit_, b)) return false;
  if (b.type == BranchType::contact) {
    return loom_.elements.contacts[b.index].closed_when.op == Condition::Op::always;
  }
  return own_conductance(circuit_, b) > 0;
}

Island FaultNetwork::laid_island() const {
  std::vector<int> nodes(circuit_.nodes);
  std::iota(nodes.begin(), nodes.end(), 0);
  std::vector<IslandLink> links;
  for (std::size_t l = 0; l < lines_.all.size(); ++l) {
    const bool pushes = lines_.is_branch(l) && is_active(circuit_, circuit_.branches[l]);
    links.push_back({lines_.all[l].a, lines_.all[l].b, lasts(l), pushes, lines_.is_bridge(l)});
  }
  return Island(std::move(nodes), watched_nodes(circuit_), links, circuit_.ground_rank);
}

// Of a line that stands still while the network settles; the others are set then.
double FaultNetwork::line_conductance(std::size_t line) const {
  if (!lines_.is_branch(line)) return 1 / lines_.all[line].ohm;
  const Branch& b = circuit_.branches[line];
  if (is_active(circuit_, b) || b.type == BranchType::contact || is_divider(b)) return 0;
  return own_conductance(circuit_, b);
}

void FaultNetwork::open_line(std::size_t line) {
  if (std::exchange(open_[line], char{1}) != 0) return;
  island_.set_lasting(line, false);
  island_.set_conductance(line, 0);
  island_.set_push(line, 0);
  if (lines_.is_branch(line)) laws_.opened[line] = 1;
}

void FaultNetwork::close_line(std::size_t line) {
  if (std::exchange(open_[line], char{0}) == 0) return;
  island_.set_lasting(line, lasts(line));
  island_.set_conductance(line, line_conductance(line));
  if (lines_.is_branch(line)) laws_.opened[line] = 0;
}

void FaultNetwork::lay_bridge(std::size_t line) {
  let_fuses_blow(true);
  bridge_ = line;
  island_.set_lasting(line, true);
  island_.set_conductance(line, 1 / lines_.all[line].ohm);
}

// A bridge may blow any fuse, again and again: these are then taken out of what never opens, once and for all.
void FaultNetwork::let_fuses_blow(bool may) {
  if (std::exchange(may_blow_, may) == may) return;
  for (std::size_t line : lines_.fuse) island_.set_lasting(line, open_[line] == 0 && lasts(line));
}

void FaultNetwork::hold_contact(std::size_t contact, bool closed) {
  held_contact_[contact] = closed ? 1 : 0;
  if (!closed) island_.set_lasting(lines_.contact[contact], false);
}

void FaultNetwork::remove_fault() {
  for (std::size_t i : blown_) close_line(lines_.fuse[i]);
  blown_.clear();
  if (fault_ == nullptr) return;
  fault_ = nullptr;
  for (std::size_t l = 0; l < open_.size(); ++l) close_line(l);
  for (std::size_t i = 0; i < held_contact_.size(); ++i) {
    if (std::exchange(held_contact_[i], std::int8_t{-1}) != 0) continue;
    island_.set_lasting(lines_.contact[i], lasts(lines_.contact[i]));
  }
  if (bridge_ != 0) {
    island_.set_lasting(bridge_, false);
    island_.set_conductance(bridge_, 0);
    bridge_ = 0;
    let_fuses_blow(false);
  }
  logic_.set_fault({});
}

void FaultNetwork::apply(const Fault* fault) {
  remove_fault();
  fault_ = fault;
  if (fault == nullptr) return;
  const Fault& f = *fault;
  LogicFault logic;
  switch (f.type) {
    case FaultType::wire_open:
      open_line(circuit_.wire_branch[f.index]);
      break;
    case FaultType::wire_on_frame:
      lay_bridge(lines_.chafe[f.index]);
      break;
    case FaultType::pins_bridged:
      for (const auto& [pins, line] : lines_.pins) {
        if (pins == std::pair(f.index, f.other)) lay_bridge(line);
      }
      break;
    case FaultType::connector_unmated:
      for (std::size_t i = 0; i < given_.contacts.size(); ++i) {
        if (given_.contacts[i].part.value == f.index) hold_contact(i, false);
      }
      break;
    case FaultType::switch_stuck:
      break;  // see begin
    case FaultType::contact_welded:
      hold_contact(f.index, true);
      break;
    case FaultType::contact_open:
      hold_contact(f.index, false);
      break;
    case FaultType::fuse_open:
      open_line(lines_.fuse[f.index]);
      break;
    case FaultType::coil_open:
      if (lines_.coil[f.index] != lines_.none()) open_line(lines_.coil[f.index]);
      logic.dead_coils.push_back(f.index);
      break;
    case FaultType::lamp_out:
      open_line(lines_.load[f.index]);
      break;
    case FaultType::ground_lost:
      open_line(lines_.stud[f.index]);
      break;
    case FaultType::supply_lost:
      open_line(lines_.source[f.index]);
      logic.dead_sources.push_back(f.index);
      break;
    case FaultType::converter_dead:
      open_line(lines_.converter_in[f.index]);
      open_line(lines_.converter_out[f.index]);
      logic.dead_converters.push_back(f.index);
      break;
  }
  for (std::size_t i = 0; i < held_contact_.size(); ++i) {
    if (held_contact_[i] < 0) continue;
    (held_contact_[i] != 0 ? logic.contacts_closed : logic.contacts_open).push_back(i);
  }
  logic_.set_fault(std::move(logic));
}

void FaultNetwork::begin(const Situation& situation) {
  for (std::size_t i : blown_) close_line(lines_.fuse[i]);
  blown_.clear();
  const Elements& all = loom_.elements;
  point_.trouble.clear();
  point_.situation.positions = situation.positions;
  point_.situation.charge = situation.charge;
  if (fault_ != nullptr && fault_->type == FaultType::switch_stuck)
    point_.situation.positions[fault_->index] = static_cast<std::int8_t>(fault_->position);
  for (std::size_t i : dividers_) {
    if (open_[i] == 0) island_.set_conductance(i, laws_.conductance(circuit_.branches[i], point_));
  }
  point_.source_a.assign(all.sources.size(), 0);
  point_.load_a.assign(all.loads.size(), 0);
  point_.converter_in_a.assign(all.converters.size(), 0);
  point_.converter_out_a.assign(all.converters.size(), 0);
  point_.diode_a.assign(all.diodes.size(), 0);
  // Of whatever was settled before nothing is seen.
  for (const Converter& c : all.converters)
    point_.node_v[circuit_.node(c.out_pos)] = point_.node_v[circuit_.node(c.out_neg)] = 0;
  unseen_ = true;
  for (Active& a : actives_) a.moved = true;
}

void FaultNetwork::close_contacts() {
  for (std::size_t i : contacts_) {
    const Branch& b = circuit_.branches[i];
    island_.set_conductance(i, point_.logic.contact_closed[b.index] != 0 ? 1 / b.ohm : 0);
  }
}

void FaultNetwork::move_actives() {
  for (const Active& a : actives_) {
    if (!a.moved) continue;
    const Branch& b = circuit_.branches[a.line];
    island_.set_conductance(a.line, laws_.conductance(b, point_));
    island_.set_push(a.line, laws_.injection(b, point_));
  }
}

bool FaultNetwork::solve_linear() {
  const bool unseen = std::exchange(unseen_, false);
  if (!island_.solve() && !unseen) return false;
  const std::vector<int>& nodes = island_.nodes();
  for (int i : island_.solved_steps()) point_.node_v[nodes[i]] = island_.v()[i];
  if (island_.pieces_moved() || unseen) {
    for (std::size_t i = 0; i < nodes.size(); ++i) point_.piece[nodes[i]] = nodes[island_.ground(static_cast<int>(i))];
  }
  return true;
}

// What the logic looks at, once the currents have settled.
void FaultNetwork::show_watched() {
  if (!island_.solve_watched()) return;
  const std::vector<int>& nodes = island_.nodes();
  for (auto i = static_cast<std::size_t>(island_.first_watched()); i < nodes.size(); ++i)
    point_.node_v[nodes[i]] = island_.v()[i];
}

void FaultNetwork::show_rest() {
  island_.solve_rest();
  const auto rest = static_cast<std::size_t>(island_.first_watched());
  for (std::size_t i = 0; i < rest; ++i) point_.node_v[island_.nodes()[i]] = island_.v()[i];
}

// One that has come to rest and sees what it saw stays as it is. What a converter takes in follows what it gives.
bool FaultNetwork::look_at(Active& a) {
  const FaultLine& line = lines_.all[a.line];
  const bool path = has_path(line);
  const double v = across(line);
  const bool follows = a.input != 0 && actives_[a.input - 1].moved;
  if (!a.moved && !follows && v == a.seen_v && path == a.seen_path) return false;
  a.seen_v = v;
  a.seen_path = path;
  return laws_.update(circuit_.branches[a.line], point_);
}

void FaultNetwork::solve_nonlinear() {
  for (int i = 0; i < most_iterations; ++i) {
    move_actives();
    const bool solved = solve_linear();
    bool moved = false;
    for (Active& a : actives_) {
      a.moved = (solved || a.moved) && look_at(a);
      moved |= a.moved;
    }
    if (moved) continue;
    for (Active& a : actives_) {
      if (open_[a.line] != 0 || !laws_.starve_cut_off(circuit_.branches[a.line], point_)) continue;
      a.moved = moved = true;
    }
    if (!moved) return;
  }
  point_.trouble = "the network did not settle";
}

void FaultNetwork::settle_logic() {
  cycle_.clear();
  for (std::size_t step = 0;; ++step) {
    steps_ = step;
    close_contacts();
    laws_.thaw();
    if (keeps_begun_) {
      begun_.resize(step);
      begun_.push_back(modes());
    }
    solve_nonlinear();
    show_watched();
    if (!point_.trouble.empty()) return;
    // The first state need not answer to the situation, nor to the fault.
    logic_.next(point_, next_, step == 0);
    if (next_ == point_.logic) return;
    const auto end = seen_.begin() + static_cast<std::ptrdiff_t>(step);
    const auto found = std::find(seen_.begin(), end, next_);
    if (found != end) {
      cycle_.assign(found, end);
      cycle_.push_back(point_.logic);
      point_.trouble = "chatters: " + changes_between(loom_, point_.logic, next_);
      return;
    }
    if (step + 1 == most_logic_steps) {
      point_.trouble = "the switching did not come to rest";
      return;
    }
    if (seen_.size() == step) seen_.emplace_back();
    seen_[step] = point_.logic;
    std::swap(point_.logic, next_);
    laws_.follow(next_, point_.logic);
    for (Active& a : actives_) a.moved = is_switched(circuit_.branches[a.line], next_, point_.logic);
  }
}

// A source's limit of exactly that many times is common: rounding must not decide.
bool FaultNetwork::overloads(std::size_t fuse) const {
  const std::size_t l = lines_.fuse[fuse];
  if (open_[l] != 0 || !given_.fuses[fuse].rated_a) return false;
  const double opens_a = (1 - 1e-6) * fuse_opens_at * *given_.fuses[fuse].rated_a;
  return std::fabs(across(lines_.all[l])) / lines_.all[l].ohm >= opens_a;
}

bool FaultNetwork::overloads_fuse() const {
  for (std::size_t i = 0; i < given_.fuses.size(); ++i) {
    if (overloads(i)) return true;
  }
  return false;
}

bool FaultNetwork::blow_fuses() {
  std::vector<std::size_t> now;
  for (std::size_t i = 0; i < given_.fuses.size(); ++i) {
    if (overloads(i)) now.push_back(i);
  }
  for (std::size_t i : now) open_line(lines_.fuse[i]);
  blown_.insert(blown_.end(), now.begin(), now.end());
  return !now.empty();
}

// A short through a fuse ends with the fuse; with no fault in it the circuit is what the fuse rules judge.
const OperatingPoint& FaultNetwork::settle() {
  for (int round = 0;; ++round) {
    settle_logic();
    show_rest();
    if (fault_ == nullptr || round == most_fuse_rounds || !blow_fuses()) return point_;
    point_.trouble.clear();
  }
}

const OperatingPoint& FaultNetwork::settle_from_rest(const Situation& situation, const Modes* guess) {
  go_on();
  begin(situation);
  logic_.rest(point_, point_.logic);
  laws_.start();
  if (guess != nullptr) {
    for (const Active& a : actives_) {
      const Branch& b = circuit_.branches[a.line];
      const bool is_steady = b.type == BranchType::source || b.type == BranchType::diode ||
                             (b.type == BranchType::load && loom_.elements.loads[b.index].form != Load::Form::power);
      if (is_steady) laws_.adopt(b, guess->laws);
    }
    laws_.set_hints(&guess->laws);
    LogicState dark = point_.logic;
    std::fill(dark.source_on.begin(), dark.source_on.end(), std::uint8_t{1});
    laws_.follow(dark, point_.logic);
  }
  settle();
  laws_.set_hints(nullptr);
  return point_;
}

const OperatingPoint& FaultNetwork::settle_from(const Situation& situation, const LogicState& logic, const Modes& modes,
                                                const std::vector<double>& node_v, const std::vector<int>& piece) {
  go_on();
  begin(situation);
  laws_.set_state(modes.laws);
  point_.converter_out_a = modes.out_a;
  before_.situation = point_.situation;
  before_.logic = logic;
  before_.node_v = node_v;
  before_.piece = piece;
  logic_.next(before_, point_.logic, true);
  return settle();
}

const OperatingPoint& FaultNetwork::settle_from(const Situation& situation, const LogicState& logic, const Modes& modes,
                                                const Modes* guess) {
  go_on();
  begin(situation);
  laws_.set_state(modes.laws);
  laws_.set_hints(guess != nullptr ? &guess->laws : nullptr);
  point_.converter_out_a = modes.out_a;
  point_.logic = logic;
  logic_.force(point_.logic);
  settle();
  laws_.set_hints(nullptr);
  return point_;
}

const OperatingPoint& FaultNetwork::settle_again() {
  point_.trouble.clear();
  return settle();
}

const OperatingPoint& FaultNetwork::hold(const LogicState& logic) {
  point_.trouble.clear();
  point_.logic = logic;
  for (Active& a : actives_) a.moved = true;
  close_contacts();
  laws_.thaw();
  solve_nonlinear();
  show_watched();
  show_rest();
  return point_;
}

std::vector<FaultNetwork::Edge> FaultNetwork::edges() const {
  std::vector<Edge> out;
  for (std::size_t l = 0; l < lines_.all.size(); ++l) {
    const FaultLine& line = lines_.all[l];
    if (open_[l] != 0 || (lines_.is_bridge(l) && l != bridge_)) continue;
    if (!lines_.is_branch(l)) {
      out.push_back({BranchType::resistance, 0, line.a, line.b, true, line.ohm});
      continue;
    }
    const Branch& b = circuit_.branches[l];
    if (b.type == BranchType::contact && held_contact_[b.index] == 0) continue;
    out.push_back({b.type, b.index, line.a, line.b, false, line.ohm});
  }
  return out;
}

std::vector<int> FaultNetwork::touched() const {
  std::vector<int> out;
  if (fault_ == nullptr) return out;
  for (std::size_t l = 0; l < lines_.all.size(); ++l) {
    bool is = open_[l] != 0 || (l == bridge_ && l != 0);
    if (lines_.is_branch(l) && circuit_.branches[l].type == BranchType::contact) {
      const std::size_t contact = circuit_.branches[l].index;
      is |= held_contact_[contact] >= 0;
      is |= fault_->type == FaultType::switch_stuck && given_.contacts[contact].part.value == fault_->index;
    }
    if (is) out.insert(out.end(), {lines_.all[l].a, lines_.all[l].b});
  }
  return out;
}

std::vector<std::size_t> FaultNetwork::undefined_inputs() const {
  std::vector<std::size_t> out;
  for (std::size_t i : digital_inputs_) {
    const Input& input = given_.inputs[i];
    const int a = circuit_.node(input.terminal), b = circuit_.node(input.reference);
    if (point_.piece[a] != point_.piece[b]) continue;
    const double v = point_.node_v[a] - point_.node_v[b];
    if (v > *input.off_below_v && v < *input.on_above_v) out.push_back(i);
  }
  return out;
}

void FaultNetwork::force_input(std::size_t i, bool asserted) {
  Input& input = loom_.elements.inputs[i];
  const bool high = asserted == input.active_high;
  input.on_above_v.value = high ? -never_v : 2 * never_v;
  input.off_below_v.value = high ? -2 * never_v : never_v;
}

void FaultNetwork::free_input(std::size_t i) {
  loom_.elements.inputs[i].on_above_v.value = given_.inputs[i].on_above_v.value;
  loom_.elements.inputs[i].off_below_v.value = given_.inputs[i].off_below_v.value;
}

double FaultNetwork::current_a(std::size_t branch) const {
  const Branch& b = circuit_.branches[branch];
  switch (b.type) {
    case BranchType::source:
      return -point_.source_a[b.index];
    case BranchType::converter_out:
      return -point_.converter_out_a[b.index];
    case BranchType::converter_in:
      return point_.converter_in_a[b.index];
    case BranchType::diode:
      return point_.diode_a[b.index];
    case BranchType::load:
      if (loom_.elements.loads[b.index].form != Load::Form::resistive) return point_.load_a[b.index];
      [[fallthrough]];
    default:
      return open_[branch] != 0 || !has_path(lines_.all[branch])
                 ? 0
                 : across(lines_.all[branch]) * island_.conductance(branch);
  }
}

}  // namespace loomproof
