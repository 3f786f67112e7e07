#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs tests/live/capture.c against a real sound server of its own: a null sink, a pattern played into it, its monitor
listened to. Usage: capture.py CAPTURE-PROGRAM"""
import os
import pathlib
import struct
import subprocess
import sys
import tempfile
import time
import wave

program = sys.argv[1]
MAPS = {2: "front-left,front-right", 4: "front-left,front-right,rear-left,rear-right"}


def mixed(number, channel):
    h = (number * 2654435761 ^ channel * 40503) & 0xFFFFFFFF
    h ^= h >> 13
    return (h * 2246822519 & 0xFFFFFFFF) >> 17


def pattern(path, rate, channels, seconds):
    with wave.open(str(path), "wb") as out:
        out.setnchannels(channels)
        out.setsampwidth(2)
        out.setframerate(rate)
        frames = bytearray()
        for number in range(1, int(rate * seconds) + 1):
            values = [number & 0x7FFF, number >> 15] + [mixed(number, c) for c in range(2, channels)]
            frames += struct.pack(f"<{channels}h", *values)
        out.writeframes(frames)


def run(rate, channels):
    with tempfile.TemporaryDirectory(prefix="cw-sound-") as name:
        folder = pathlib.Path(name)
        (folder / "home/.config/pulse").mkdir(parents=True)
        (folder / "home/.config/pulse/daemon.conf").write_text(
            "avoid-resampling = yes\nenable-remixing = no\nenable-memfd = no\nexit-idle-time = -1\n")
        (folder / "asound.conf").write_text(
            "</usr/share/alsa/alsa.conf>\npcm.bench { type pulse device \"bench.monitor\" hint { show on description \"bench\" } }\n"
            "pcm.!default { type pulse device \"bench.monitor\" hint { show on description \"bench\" } }\n")
        env = dict(os.environ, XDG_RUNTIME_DIR=name, HOME=str(folder / "home"), PULSE_SERVER=f"unix:{name}/native",
                   ALSA_CONFIG_PATH=str(folder / "asound.conf"), ASAN_OPTIONS="detect_leaks=0")
        server = subprocess.Popen(["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--disallow-exit", "--realtime=no",
                                   "--high-priority=no", "-L", f"module-native-protocol-unix auth-anonymous=1 socket={name}/native"],
                                  env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            for _ in range(100):
                if subprocess.run(["pactl", "info"], env=env, capture_output=True).returncode == 0:
                    break
                time.sleep(0.1)
            subprocess.run(["pactl", "load-module", "module-null-sink", "sink_name=bench", "format=s16le", f"rate={rate}",
                            f"channels={channels}", f"channel_map={MAPS[channels]}", "norewinds=1"], env=env, check=True,
                           capture_output=True)
            pattern(folder / "pattern.wav", rate, channels, 4)
            listener = subprocess.Popen([program, str(rate), str(channels), "7"], env=env, stdout=subprocess.PIPE, text=True)
            first = listener.stdout.readline()
            while first and not first.startswith("listening"):
                first = listener.stdout.readline()
            time.sleep(1)
            subprocess.run(["paplay", "--device=bench", f"--channel-map={MAPS[channels]}", str(folder / "pattern.wav")], env=env,
                           check=True, timeout=60)
            rest, _ = listener.communicate(timeout=60)
            print(f"{channels} channels at {rate} Hz: {rest.strip()}")
            return listener.returncode
        finally:
            server.terminate()
            server.wait()


sys.exit(max(run(48000, 2), run(192000, 4)))
