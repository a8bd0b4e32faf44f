#include "app/checkpoints.hpp"

#include <fmt/format.h>

#include <optional>
#include <utility>

#include "app/machine_error.hpp"
#include "app/stop_signal.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

using Clock = std::chrono::steady_clock;

[[noreturn]] void refuse(const std::filesystem::path& file, const std::string& why)
{
  scenarios::refuse({file.string(), 0, 0},
                    why + "; --force without --resume starts again from the beginning");
}

[[nodiscard]] std::string refine_text(double ratio)
{
  return ratio > 0.0 ? fmt::format("with --refine {:g}", ratio) : "without --refine";
}

/// What the checkpoint does not share with this run, in words.
[[nodiscard]] std::optional<std::string> difference(const CheckpointIdentity& kept,
                                                    const CheckpointIdentity& own)
{
  if (kept.program != own.program) {
    return fmt::format("was written by {}, and this is {}: go on with that program",
                       kept.program, own.program);
  }
  if (kept.scenario != own.scenario) {
    return fmt::format("belongs to another scenario (SHA-256 {:.16}..., here {:.16}...)",
                       kept.scenario, own.scenario);
  }
  if (kept.refine != own.refine) {
    return fmt::format("belongs to a run {}, and this is one {}",
                       refine_text(kept.refine), refine_text(own.refine));
  }
  if (kept.instructions != own.instructions) {
    return fmt::format(
        "was written with the instructions {}, and this processor has {}, which rounds "
        "differently: go on with a processor of the former kind",
        kept.instructions, own.instructions);
  }
  if (kept.layout != own.layout) {
    return "belongs to another grid";
  }
  return std::nullopt;
}

}  // namespace

Checkpoints::Checkpoints(std::filesystem::path file, CheckpointIdentity identity,
                         bool at_end, CheckpointTalk talk)
    : file_(std::move(file)),
      identity_(std::move(identity)),
      at_end_(at_end),
      talk_(std::move(talk))
{
}

double Checkpoints::open()
{
  if (!std::filesystem::exists(file_)) {
    return 0.0;
  }
  try {
    reader_ = std::make_unique<CheckpointReader>(file_);
  } catch (const solver::StateError& error) {
    refuse(file_, error.what());
  }
  if (const auto why = difference(reader_->header().identity, identity_)) {
    refuse(file_, *why);
  }
  return reader_->header().every;
}

void Checkpoints::restore(const Restore& restore)
{
  if (!reader_) {
    return;
  }
  try {
    restore(*reader_);
    reader_->finish();
  } catch (const solver::StateError& error) {
    refuse(file_, error.what());
  }
  if (talk_.announce) {
    talk_.announce(
        fmt::format("going on from the checkpoint of step {}\n", reader_->header().step));
  }
  reader_.reset();
  last_ = Clock::now();
}

void Checkpoints::write(long step, const Save& save)
{
  const auto begin = Clock::now();
  CheckpointWriter out(file_, {identity_, every_, step});
  save(out);
  const std::uint64_t bytes = out.commit();
  last_ = Clock::now();
  if (talk_.announce) {
    talk_.announce(fmt::format("checkpoint of step {}: {:.1f} MiB in {:.2f} s\n", step,
                               static_cast<double>(bytes) / 0x1p20,
                               std::chrono::duration<double>(last_ - begin).count()));
  }
}

void Checkpoints::try_to_write(long step, const Save& save)
{
  try {
    write(step, save);
  } catch (const postproc::WriteError& error) {
    last_ = Clock::now();
    if (talk_.warn) {
      talk_.warn(fmt::format("{}; the run goes on, and {}", error.what(),
                             std::filesystem::exists(file_)
                                 ? "the checkpoint before stays"
                                 : "there is no checkpoint yet"));
    }
  }
}

void Checkpoints::look(long step, const Save& save)
{
  if (StopSignal::requested()) {
    write(step, save);
    throw Suspended(fmt::format(
        "stopped by a signal; the state of step {} is kept in {}, and the same command "
        "with --resume goes on from it",
        step, file_.string()));
  }
  if (std::chrono::duration<double>(Clock::now() - last_).count() >= every_) {
    try_to_write(step, save);
  }
}

void Checkpoints::end(long step, const Save& save)
{
  if (at_end_) {
    try_to_write(step, save);
  }
}

}  // namespace torsowave::app
