// What is live in which situation, packed.
#include "show/report_situations.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "solve/supply.h"
#include "units/print.h"

namespace loomproof::report {
namespace {

constexpr std::size_t most_combinations = 2'000'000;
constexpr std::size_t most_table = 16384;  // characters of one value; what depends on more is told more coarsely
constexpr std::size_t most_spans = 40;     // values of one wire
constexpr double no_current_a = 1e-3;
constexpr std::uint8_t absent = 255;

std::string_view name_of(Charge charge) {
  return charge == Charge::full ? "full" : charge == Charge::nominal ? "nominal" : "empty";
}

struct Table {
  std::vector<Knob> knobs;
  std::vector<std::size_t> sizes;
  std::vector<std::size_t> rows;              // combination of every settled point
  std::vector<const OperatingPoint*> points;  // of every row
  std::vector<std::size_t> troubled;          // combinations that do not settle
  std::size_t combinations = 1;
};

Table table_of(const Solved& solved) {
  const Loom& loom = *solved.loom;
  Table t;
  std::vector<std::size_t> parts;
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    if (loom.parts[p].positions.size() < 2) continue;
    parts.push_back(p);
    t.knobs.push_back({loom.parts[p].name, loom.parts[p].positions});
  }
  std::vector<Charge> charges;
  for (const OperatingPoint& point : solved.points) {
    if (std::find(charges.begin(), charges.end(), point.situation.charge) == charges.end())
      charges.push_back(point.situation.charge);
  }
  Knob charge{"pack", {}}, duty{"duty", {"none"}};
  for (const Charge c : charges) charge.values.push_back(std::string(name_of(c)));
  for (const DutyPoint& d : loom.duty) duty.values.push_back(d.name);
  t.knobs.push_back(std::move(charge));
  t.knobs.push_back(std::move(duty));
  for (const Knob& knob : t.knobs) {
    t.sizes.push_back(std::max<std::size_t>(1, knob.values.size()));
    if (t.combinations <= most_combinations) t.combinations *= t.sizes.back();
  }
  if (t.combinations > most_combinations) return t;
  const auto row_of = [&](const Situation& s) -> std::optional<std::size_t> {
    std::size_t row = 0;
    for (std::size_t k = 0; k < parts.size(); ++k) {
      const int position = parts[k] < s.positions.size() ? s.positions[parts[k]] : 0;
      row = row * t.sizes[k] + static_cast<std::size_t>(position);
    }
    const auto at = std::find(charges.begin(), charges.end(), s.charge);
    if (at == charges.end()) return std::nullopt;
    row = row * t.sizes[parts.size()] + static_cast<std::size_t>(at - charges.begin());
    return row * t.sizes.back() + (s.duty ? s.duty->value + 1 : 0);
  };
  for (const OperatingPoint& point : solved.points) {
    t.rows.push_back(*row_of(point.situation));
    t.points.push_back(&point);
  }
  for (const OperatingPoint& point : solved.troubled) {
    if (const auto row = row_of(point.situation)) t.troubled.push_back(*row);
  }
  return t;
}

/// Values sorted into stretches with gaps between: index 0 for what is at or below `nothing`.
struct Stretches {
  std::vector<std::pair<double, double>> spans;  // lowest and highest of each
  std::vector<std::uint8_t> of;                  // by value given
};

Stretches stretches_of(const std::vector<double>& values, double nothing, double step) {
  std::vector<double> sorted;
  for (const double v : values) {
    if (v > nothing) sorted.push_back(v);
  }
  std::sort(sorted.begin(), sorted.end());
  Stretches out;
  for (const double v : sorted) {
    if (out.spans.empty() || v > step * out.spans.back().second) {
      out.spans.push_back({v, v});
    } else {
      out.spans.back().second = v;
    }
  }
  for (const double v : values) {
    std::uint8_t index = 0;
    while (index < out.spans.size() && v >= out.spans[index].first && v > nothing) ++index;
    out.of.push_back(index);
  }
  return out;
}

template <class Quantity>
std::string span_text(const std::pair<double, double>& span) {
  const std::string low = show(Quantity(span.first)), high = show(Quantity(span.second));
  return low == high ? low : low + " to " + high;
}

/// Values are told apart where the next one is more than `steps` times as large: finely first, then more coarsely until
/// the table is small enough; at last only whether there is any.
template <class Quantity>
Shown shown_of(const Table& t, const std::vector<double>& values, double nothing, std::string_view word,
               const std::vector<double>& steps) {
  Shown shown;
  for (const double step : steps) {
    const Stretches stretches = stretches_of(values, nothing, step);
    if (stretches.spans.size() > most_spans) continue;
    shown.labels = {std::string(word)};
    for (const auto& span : stretches.spans) shown.labels.push_back(span_text<Quantity>(span));
    shown.cone = cone_of(t.sizes, t.rows, stretches.of);
    if (shown.cone.table.size() <= most_table) break;
  }
  return shown;
}

}  // namespace

Cone cone_of(const std::vector<std::size_t>& sizes, const std::vector<std::size_t>& rows,
             const std::vector<std::uint8_t>& values) {
  struct Row {
    std::size_t key;
    std::uint8_t value;
  };
  std::vector<Row> left;
  for (std::size_t i = 0; i < rows.size(); ++i) left.push_back({rows[i], values[i]});
  std::vector<std::size_t> weight(sizes.size(), 1);
  for (std::size_t k = sizes.size(); k-- > 1;) weight[k - 1] = weight[k] * sizes[k];
  const std::size_t combinations = sizes.empty() ? 1 : weight[0] * sizes[0];
  std::vector<std::uint8_t> seen(combinations);
  std::vector<std::size_t> kept;
  for (std::size_t k = 0; k < sizes.size(); ++k) {
    if (sizes[k] < 2) continue;
    // Without this knob: do rows that then fall together agree?
    std::fill(seen.begin(), seen.end(), absent);
    std::vector<Row> fewer;
    const bool agree = std::all_of(left.begin(), left.end(), [&](const Row& row) {
      const std::size_t key = row.key - (row.key / weight[k] % sizes[k]) * weight[k];
      if (seen[key] == absent) {
        seen[key] = row.value;
        fewer.push_back({key, row.value});
      }
      return seen[key] == row.value;
    });
    if (agree) {
      left = std::move(fewer);
    } else {
      kept.push_back(k);
    }
  }
  Cone cone{kept, {}};
  std::size_t cells = 1;
  for (const std::size_t k : kept) cells *= sizes[k];
  cone.table.assign(cells, '.');
  for (const Row& row : left) {
    std::size_t cell = 0;
    for (const std::size_t k : kept) cell = cell * sizes[k] + row.key / weight[k] % sizes[k];
    cone.table[cell] = static_cast<char>('0' + row.value);
  }
  return cone;
}

std::optional<Explorer> explorer_of(const Solved& solved) {
  const Loom& loom = *solved.loom;
  const Table t = table_of(solved);
  if (t.combinations > most_combinations || t.rows.empty()) return std::nullopt;
  Explorer out;
  out.knobs = t.knobs;

  std::vector<std::uint8_t> exists(t.combinations, 0);
  for (const std::size_t row : t.rows) exists[row] = 1;
  for (const std::size_t row : t.troubled) exists[row] = 2;
  std::vector<std::size_t> all(t.combinations);
  std::iota(all.begin(), all.end(), std::size_t{0});
  out.settled = cone_of(t.sizes, all, exists);

  const std::vector<SupplyPoles> supplies = supply_poles(solved.circuit);
  std::vector<std::vector<double>> node_v(t.points.size());
  for (std::size_t p = 0; p < t.points.size(); ++p) {
    const OperatingPoint& point = *t.points[p];
    node_v[p].assign(static_cast<std::size_t>(solved.circuit.nodes), 0);
    for (std::size_t n = 0; n < node_v[p].size(); ++n) {
      for (const SupplyPoles& supply : supplies) {
        const auto neg = static_cast<std::size_t>(supply.neg);
        if (point.piece[neg] == point.piece[n])
          node_v[p][n] = std::max(node_v[p][n], point.node_v[n] - point.node_v[neg]);
      }
    }
  }
  const std::vector<double> volt_steps{1.05, 1.1, 1.25, 1.5, 2, INFINITY}, amp_steps{1.3, 1.6, 2, 3, 5, 10, INFINITY};
  std::vector<double> volts(t.points.size()), amps(t.points.size());
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    const auto from = static_cast<std::size_t>(solved.circuit.node(loom.wires[w].from));
    const auto to = static_cast<std::size_t>(solved.circuit.node(loom.wires[w].to));
    for (std::size_t p = 0; p < t.points.size(); ++p) {
      volts[p] = std::max(node_v[p][from], node_v[p][to]);
      amps[p] = std::fabs(wire_current(solved.circuit, *t.points[p], WireIndex{w}).value);
    }
    out.wire_volts.push_back(shown_of<Volt>(t, volts, dead_v, "dead", volt_steps));
    out.wire_amps.push_back(shown_of<Ampere>(t, amps, no_current_a, "no current", amp_steps));
  }

  std::vector<std::uint8_t> bits(t.points.size());
  const auto add_state = [&](std::string name, const auto& bit, std::string_view no, std::string_view yes) {
    for (std::size_t p = 0; p < t.points.size(); ++p) bits[p] = bit(t.points[p]->logic) != 0 ? 1 : 0;
    out.states.push_back({std::move(name), {{std::string(no), std::string(yes)}, cone_of(t.sizes, t.rows, bits)}});
  };
  for (std::size_t o = 0; o < loom.elements.outputs.size(); ++o) {
    const Output& output = loom.elements.outputs[o];
    add_state(
        loom.part(output.part).name + "." + output.name, [&](const LogicState& s) { return s.output_on[o]; }, "off",
        "on");
  }
  for (std::size_t c = 0; c < loom.elements.contacts.size(); ++c) {
    const Contact& contact = loom.elements.contacts[c];
    // What a hand moves is a knob already.
    if (!contact.operated || !loom.part(contact.part).positions.empty()) continue;
    add_state(
        loom.part(contact.part).name + (contact.name.empty() ? "" : " " + contact.name),
        [&](const LogicState& s) { return s.contact_closed[c]; }, "open", "closed");
  }
  return out;
}

}  // namespace loomproof::report
