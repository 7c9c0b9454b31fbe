// The clock is the one of `--time-limit`, set back before every input.
#include "bounded.h"

#include <chrono>
#include <condition_variable>
#include <mutex>
#include <thread>

#include "model/time_limit.h"
#include "targets.h"

namespace loomproof::fuzz {
namespace {

class Clock {
 public:
  explicit Clock(std::chrono::milliseconds most) {
    begin_time();
    thread_ = std::thread([this, most] {
      std::unique_lock lock(mutex_);
      if (!over_.wait_for(lock, most, [this] { return stopped_; })) end_time();
    });
  }
  ~Clock() {
    {
      const std::lock_guard lock(mutex_);
      stopped_ = true;
    }
    over_.notify_one();
    thread_.join();
    begin_time();
  }
  Clock(const Clock&) = delete;
  Clock& operator=(const Clock&) = delete;

 private:
  std::mutex mutex_;
  std::condition_variable over_;
  bool stopped_ = false;
  std::thread thread_;
};

constexpr std::size_t most_wires = 80;
constexpr std::size_t most_wires_under_faults = 12;

}  // namespace

bool is_small(const Loom& loom) {
  return loom.wires.size() <= most_wires;
}

std::unique_ptr<Bounded> judged_within(std::string_view bytes) {
  auto bounded = std::make_unique<Bounded>();
  bounded->read = read_loom(bytes, "fuzzed.yaml");
  if (!bounded->read.loom || !is_small(*bounded->read.loom)) return nullptr;
  const Clock clock(std::chrono::milliseconds(2000));
  try {
    const bool with_faults = bounded->read.loom->wires.size() <= most_wires_under_faults;
    bounded->solved = solve(*bounded->read.loom, with_faults);
    bounded->judgement = judge(*bounded->solved);
  } catch (const OutOfTime&) {
    return nullptr;
  }
  return bounded;
}

}  // namespace loomproof::fuzz
