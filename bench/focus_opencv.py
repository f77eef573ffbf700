"""Speed of OpenCV on the same frame, one thread: prints JSON {version, name: milliseconds}. cpu: processor time a
run, which other work on the machine disturbs least."""

import json
import sys
import time

import cv2
import numpy as np

cv2.setNumThreads(1)
width, height, rounds = (int(text) for text in sys.argv[1:4])
frame = np.frombuffer(sys.stdin.buffer.read(), np.uint8).reshape(height, width)
first = np.empty((height, width), np.int16)
second = np.empty((height, width), np.int16)


def laplacian_norm():
    return cv2.norm(cv2.Laplacian(frame, cv2.CV_16S, dst=first), cv2.NORM_L2SQR)


def laplacian_mean_std_dev():
    return cv2.meanStdDev(cv2.Laplacian(frame, cv2.CV_16S, dst=first))


def sobel_norm():
    cv2.Sobel(frame, cv2.CV_16S, 1, 0, dst=first)
    cv2.Sobel(frame, cv2.CV_16S, 0, 1, dst=second)
    return cv2.norm(first, cv2.NORM_L2SQR) + cv2.norm(second, cv2.NORM_L2SQR)


def spatial_gradient_norm():
    cv2.spatialGradient(frame, first, second)
    return cv2.norm(first, cv2.NORM_L2SQR) + cv2.norm(second, cv2.NORM_L2SQR)


def milliseconds(work):
    for _ in range(5):
        work()
    times = []
    cpu = time.process_time()
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(1e3 * (time.perf_counter() - start))
    cpu = 1e3 * (time.process_time() - cpu) / rounds
    return {"best": min(times), "cpu": cpu}


forms = [laplacian_norm, laplacian_mean_std_dev, sobel_norm, spatial_gradient_norm]
print(json.dumps({"version": cv2.__version__, **{form.__name__: milliseconds(form) for form in forms}}))
