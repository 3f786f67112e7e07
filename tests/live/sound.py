#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A simulated evening played into a real sound server, heard by `camerawright live` as a sound card, shot by shot; the numbers
held against the simulator's truth, and what listening costs of one core. Usage: sound.py CAMERAWRIGHT-SIM CAMERAWRIGHT"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import threading
import time

simulator, camerawright = sys.argv[1:3]
RATE, CHANNELS = 192000, 4
MAP = "front-left,front-right,rear-left,rear-right"


def cpu_s(pid):
    fields = pathlib.Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def start_server(folder, env):
    (folder / "home/.config/pulse").mkdir(parents=True)
    (folder / "home/.config/pulse/daemon.conf").write_text(
        "avoid-resampling = yes\nenable-remixing = no\nenable-memfd = no\nexit-idle-time = -1\n")
    (folder / "asound.conf").write_text(
        "</usr/share/alsa/alsa.conf>\npcm.bench { type pulse device \"bench.monitor\" hint { show on description \"bench\" } }\n"
        "pcm.!default { type pulse device \"bench.monitor\" hint { show on description \"bench\" } }\n")
    server = subprocess.Popen(["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--disallow-exit", "--realtime=no",
                               "--high-priority=no", "-L", f"module-native-protocol-unix auth-anonymous=1 socket={folder}/native"],
                              env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    for _ in range(100):
        if subprocess.run(["pactl", "info"], env=env, capture_output=True).returncode == 0:
            break
        time.sleep(0.1)
    subprocess.run(["pactl", "load-module", "module-null-sink", "sink_name=bench", "format=float32le", f"rate={RATE}",
                    f"channels={CHANNELS}", f"channel_map={MAP}", "norewinds=1"], env=env, check=True, capture_output=True)
    return server


def shots_in(lines):
    """The numbers of the shots shown so far. Lines come from another thread, whole."""
    events = [json.loads(line) for line in list(lines)]
    return {event["shot"]["shot"] for event in events if event.get("event") == "shot"}


def listen(folder, env):
    subprocess.run([simulator, "demo", str(folder)], check=True, capture_output=True)
    truth = json.loads((folder / "ellory-reflex-before.truth.json").read_text())["shots"]
    marks = ";".join(f"{shot['marked_s']:.9g}" if shot["marked_s"] >= 1 else f"1/{1 / shot['marked_s']:.0f}" for shot in truth)
    live = subprocess.Popen([camerawright, "live", "--source", "sound", "--channels", str(CHANNELS), "--rate", str(RATE),
                             "--sensors-mm", "4,18,32", "--contact-channel", "4", "--marked-list", marks, "--json"],
                            env=env, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    lines = []
    reader = threading.Thread(target=lambda: lines.extend(iter(live.stdout.readline, "")))
    reader.start()
    time.sleep(2)
    quiet_from, began = cpu_s(live.pid), time.monotonic()
    time.sleep(6)
    share = (cpu_s(live.pid) - quiet_from) / (time.monotonic() - began)
    subprocess.run(["paplay", "--device=bench", f"--channel-map={MAP}", str(folder / "ellory-reflex-before.wav")], env=env, check=True,
                   timeout=200)
    # a busy machine is slow to show them: what counts is that all of them come
    for _ in range(600):
        if len(shots_in(lines)) >= len(truth) or live.poll() is not None:
            break
        time.sleep(0.1)
    if live.poll() is None:
        live.send_signal(2)
    complaints = live.stderr.read()
    reader.join(60)
    if live.wait(60) != 0:
        sys.exit(f"the program ended with {live.returncode}: {complaints[-2000:]}")
    return truth, lines, share


def main():
    with tempfile.TemporaryDirectory(prefix="cw-sound-") as name:
        folder = pathlib.Path(name)
        env = dict(os.environ, XDG_RUNTIME_DIR=name, HOME=str(folder / "home"), PULSE_SERVER=f"unix:{name}/native",
                   ALSA_CONFIG_PATH=str(folder / "asound.conf"), ASAN_OPTIONS="detect_leaks=0")
        server = start_server(folder, env)
        try:
            truth, lines, share = listen(folder, env)
        finally:
            server.terminate()
            server.wait()
    seen, result = shots_in(lines), json.loads(lines[-1])
    assert result.get("format") == "camerawright.shutter/1", lines[-1]
    assert len(seen) == len(truth), f"{len(seen)} shots shown, {len(truth)} fired"
    worst = 0
    for shot, true in zip(result["shots"], truth):
        for sensor, true_sensor in zip(shot["sensors"], true["sensors"]):
            worst = max(worst, abs(sensor["exposure_s"] / true_sensor["exposure_s"] - 1))
    print(f"{len(truth)} shots heard through a sound server, worst exposure {100 * worst:.2f} % from the truth; "
          f"listening to {CHANNELS} channels at {RATE} Hz costs {100 * share:.1f} % of one core")
    assert worst < 0.02, worst


main()
