// SPDX-License-Identifier: Apache-2.0
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.nio.ByteBuffer;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.Locale;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.solve.Correction;

/** Applies the correction of a host's state to raw frames and compares with what the host rendered, byte for byte. */
final class CompareWithEngine {
    public static void main(String[] a) throws Exception {
        byte[] input = Files.readAllBytes(Path.of(a[0]));
        byte[] rendered = Files.readAllBytes(Path.of(a[1]));
        JsonNode params = new ObjectMapper().readTree(Files.readString(Path.of(a[2]))).get("params");
        Correction correction = EvenstopFiles.correctionFromJson(params.get("correction").asText(), "state");
        float strength = (float) params.get("strength").asDouble();
        String[] size = a[3].split("x");
        int width = Integer.parseInt(size[0]);
        int height = Integer.parseInt(size[1]);
        SampleDepth depth = SampleDepth.valueOf(a[4].toUpperCase(Locale.ROOT));
        Components components = Components.valueOf(a[5].toUpperCase(Locale.ROOT));
        AlphaState alpha = AlphaState.valueOf(a[6].toUpperCase(Locale.ROOT));
        int stride = width * components.count() * depth.bytes();
        int frames = input.length / (stride * height);
        byte[] expected = new byte[input.length];
        for (int i = 0; i < frames; i++) {
            int offset = i * stride * height;
            PackedFrame source = new PackedFrame(ByteBuffer.wrap(input), offset, stride, width, height, components, depth, alpha);
            PackedFrame destination = new PackedFrame(ByteBuffer.wrap(expected), offset, stride, width, height, components, depth, alpha);
            Kernels.chosen().apply(source, destination, 0, height, correction, strength);
        }
        int differs = Arrays.mismatch(expected, rendered);
        boolean changed = !Arrays.equals(input, rendered);
        System.out.println(a[4] + " " + a[5] + " " + a[6] + ": " + frames + " frames, " + input.length + " bytes, "
            + (differs < 0 ? "equal" : "differ at byte " + differs) + (changed ? "" : ", but nothing was changed"));
        if (differs >= 0 || !changed || frames != 2 || correction.isIdentity()) {
            System.exit(1);
        }
    }
}
