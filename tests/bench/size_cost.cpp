// What `size` costs: the generated looms of check_cost with every size left open.
#include <sys/resource.h>

#include <chrono>

#include "bench/generated_loom.h"
#include "model/large_pages.h"
#include "read/read.h"
#include "read/slots.h"
#include "size/edit.h"
#include "size/size.h"

int main() {
  loomproof::take_large_pages();  // as the program does
  using namespace loomproof;
  fmt::print("{:>7} {:>7} {:>8} {:>10} {:>10} {:>9}  outcome\n", "wires", "values", "trials", "seconds", "kg", "gap %");
  for (const int wires : {60, 200, 600}) {
    std::string text = generated_loom(wires);
    std::vector<Edit> edits;
    for (const Slot& slot : find_slots(text)) edits.push_back({slot.at, slot.written, "choose"});
    text = *edited(text, edits);
    SizeRequest request;
    request.text = text;
    request.slots = find_slots(text);
    request.read = [](const std::string& t) { return read_loom(t, "generated").loom; };
    request.stock = usual_stock();
    const auto start = std::chrono::steady_clock::now();
    const SizeResult result = size_loom(request);
    const std::chrono::duration<double> lasted = std::chrono::steady_clock::now() - start;
    rusage used{};
    getrusage(RUSAGE_SELF, &used);
    fmt::print("{:>7} {:>7} {:>8} {:>10.2f} {:>10.3f} {:>9.3f}  {}\n", wires, result.values.size(), result.trials,
               lasted.count(), result.cost, 100 * (result.cost - result.bound) / std::max(result.cost, 1e-9),
               result.outcome == SizeResult::Outcome::found ? "found" : "not found");
    if (result.outcome != SizeResult::Outcome::found) return 1;
  }
  return 0;
}
